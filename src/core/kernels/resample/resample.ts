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
 * a value that a clipped sample could have touched is not used; Taps beyond the frame's
 * edge take the sample at the edge; −1 marks places more than two pixels outside.
 */
export interface ResampleKernel {
  /**
   * Columns xFrom … xFrom + columns − 1 (xFrom a multiple of 8) of reference row y. `place`: i32 × 6: the first column and
   * row of the frame that the plane buffers hold, how many of each, and the picture's width and height; a buffer must hold
   * all that the row reads, as far as the picture goes. `warp`: f32 × 6. Output in buffers of `stride` (see planes.ts)
   * from their first element on; up to 8 floats past the last may be written.
   */
  resampleRow(
    even: Address,
    odd: Address,
    stride: number,
    place: Address,
    xFrom: number,
    columns: number,
    y: number,
    warp: Address,
    table: Address,
    clipLow: number,
    clipHigh: number,
    value: Address,
    trust: Address,
  ): void
  /** The same for the reference itself: values as they are, trust from each sample alone. */
  ownRow(lin: Address, columns: number, clipLow: number, clipHigh: number, value: Address, trust: Address): void
}

const smooth = (p: number, low: number, high: number) => {
  const t = Math.min(1, Math.max(0, (high - p) / (high - low)))
  return t * t * (3 - 2 * t)
}

export function plainResample(memory: Memory): ResampleKernel {
  return {
    resampleRow(even, odd, stride, place, xFrom, columns, y, warp, table, clipLow, clipHigh, value, trust) {
      const [left, top, planeColumns, planeRows, width, height] = memory.i32(place, 6) as unknown as number[] as [
        number,
        number,
        number,
        number,
        number,
        number,
      ]
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
      const [x0, x1] = [Math.max(0, left), Math.min(width, left + planeColumns) - 1]
      const [y0, y1] = [Math.max(0, top), Math.min(height, top + planeRows) - 1]
      for (let block = 0; block < columns; block += 8) {
        const middle = xFrom + block + 3.5
        const sx = m00 * middle + m01 * y + m02 - 3.5
        const sy = m10 * middle + m11 * y + m12
        const ix = Math.floor(sx)
        const iy = Math.floor(sy)
        const wx = Math.floor((sx - ix) * PHASES + 0.5) * 4
        const wy = Math.floor((sy - iy) * PHASES + 0.5) * 4
        const rowsNear = iy >= y0 - 2 && iy <= y1 + 1 && y1 >= y0 && x1 >= x0
        for (let lane = 0; lane < 8; lane++) {
          const x = ix + lane
          const out = PLANE_PAD + block + lane
          if (!rowsNear || x < x0 - 2 || x > x1 + 1) {
            values[out] = 0
            trusts[out] = -1
            continue
          }
          const plane = planes[lane & 1]!
          let sum = 0
          let most = -Infinity
          for (let i = 0; i < 4; i++) {
            const at = PLANE_PAD + Math.min(x1, Math.max(x0, x + i - 1)) - left
            let column = 0
            for (let j = 0; j < 4; j++) {
              const v = plane[(Math.min(y1, Math.max(y0, iy + j - 1)) - top) * stride + at]!
              column += weights[wy + j]! * v
              if (v > most) most = v
            }
            sum += weights[wx + i]! * column
          }
          values[out] = sum
          trusts[out] = smooth(most, clipLow, clipHigh)
        }
      }
    },
    ownRow(lin, columns, clipLow, clipHigh, value, trust) {
      const from = memory.f32(lin, PLANE_PAD + columns)
      const values = memory.f32(value, PLANE_PAD + columns)
      const trusts = memory.f32(trust, PLANE_PAD + columns)
      for (let x = PLANE_PAD; x < PLANE_PAD + columns; x++) {
        values[x] = from[x]!
        trusts[x] = smooth(from[x]!, clipLow, clipHigh)
      }
    },
  }
}
