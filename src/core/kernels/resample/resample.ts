import { PHASES } from '../align/align.ts'
import type { Address, Memory } from '../arena.ts'
import { PLANE_PAD } from '../planes/planes.ts'

/**
 * One row of a frame laid on the reference: values by separable cubic convolution (Keys 1981, a = −1/2) at
 * W(p) = (m00 x + m01 y + m02, m10 x + m11 y + m12), and how far each may be trusted near clipping.
 *
 * The even columns are read from one plane and the odd ones from another, so a row of a mosaic comes out as a mosaic.
 * Eight columns share one source offset and phase, that of their middle.
 *
 * Trust is 1 below clipLow and falls smoothly (3t² − 2t³) to 0 at clipHigh of the largest of the sixteen values read, so
 * a value that a clipped sample could have touched is not used; −1 marks places outside the frame.
 */
export interface ResampleKernel {
  /**
   * Planes: rows planeTop … planeTop + planeRows − 1 of the frame in buffers of `stride` (see planes.ts). `warp`:
   * f32 × 6. Output rows in buffers of `stride` with the same padding; up to 8 floats past the width may be written.
   */
  resampleRow(
    even: Address,
    odd: Address,
    stride: number,
    planeTop: number,
    planeRows: number,
    width: number,
    height: number,
    y: number,
    warp: Address,
    table: Address,
    clipLow: number,
    clipHigh: number,
    value: Address,
    trust: Address,
  ): void
  /** The same for the reference itself: values as they are, trust from each sample alone. */
  ownRow(lin: Address, width: number, clipLow: number, clipHigh: number, value: Address, trust: Address): void
}

const smooth = (p: number, low: number, high: number) => {
  const t = Math.min(1, Math.max(0, (high - p) / (high - low)))
  return t * t * (3 - 2 * t)
}

export function plainResample(memory: Memory): ResampleKernel {
  return {
    resampleRow(
      even,
      odd,
      stride,
      planeTop,
      planeRows,
      width,
      height,
      y,
      warp,
      table,
      clipLow,
      clipHigh,
      value,
      trust,
    ) {
      const planes = [memory.f32(even, planeRows * stride), memory.f32(odd, planeRows * stride)] as const
      const [m00, m01, m02, m10, m11, m12] = memory.f32(warp, 6) as unknown as [
        number,
        number,
        number,
        number,
        number,
        number,
      ]
      const weights = memory.f32(table, (PHASES + 1) * 4)
      const values = memory.f32(value, stride)
      const trusts = memory.f32(trust, stride)
      for (let block = 0; block < width; block += 8) {
        const middle = block + 3.5
        const sx = m00 * middle + m01 * y + m02 - 3.5
        const sy = m10 * middle + m11 * y + m12
        const ix = Math.floor(sx)
        const iy = Math.floor(sy)
        const wx = Math.floor((sx - ix) * PHASES + 0.5) * 4
        const wy = Math.floor((sy - iy) * PHASES + 0.5) * 4
        const rowsInside = iy >= 1 && iy + 2 < height && iy - 1 >= planeTop && iy + 2 < planeTop + planeRows
        for (let lane = 0; lane < 8; lane++) {
          const x = ix + lane
          const out = PLANE_PAD + block + lane
          if (!rowsInside || x < 1 || x + 2 >= width) {
            values[out] = 0
            trusts[out] = -1
            continue
          }
          const plane = planes[lane & 1]!
          const at = (iy - 1 - planeTop) * stride + PLANE_PAD + x
          let sum = 0
          let top = -Infinity
          for (let i = 0; i < 4; i++) {
            let column = 0
            for (let j = 0; j < 4; j++) {
              const v = plane[at + j * stride + i - 1]!
              column += weights[wy + j]! * v
              if (v > top) top = v
            }
            sum += weights[wx + i]! * column
          }
          values[out] = sum
          trusts[out] = smooth(top, clipLow, clipHigh)
        }
      }
    },
    ownRow(lin, width, clipLow, clipHigh, value, trust) {
      const from = memory.f32(lin, PLANE_PAD + width)
      const values = memory.f32(value, PLANE_PAD + width)
      const trusts = memory.f32(trust, PLANE_PAD + width)
      for (let x = PLANE_PAD; x < PLANE_PAD + width; x++) {
        values[x] = from[x]!
        trusts[x] = smooth(from[x]!, clipLow, clipHigh)
      }
    },
  }
}
