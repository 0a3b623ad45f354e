import { PHASES } from '../align/align.ts'
import type { Address, Memory } from '../arena.ts'
import { PLANE_PAD } from '../planes/planes.ts'

/**
 * A frame laid on the reference: values by separable cubic convolution (Keys 1981, a = −1/2) at
 * W(p) = (m00 x + m01 y + m02, m10 x + m11 y + m12), and how far each may be trusted near clipping.
 *
 * First along the frame's rows, once for each of them, then down between four of those for every row of the reference. Eight
 * columns share one offset and phase, that of their middle, as it is where the frame's row meets the reference. What is
 * read is a mosaic: for a reference row the straight plane holds, at every column of the frame, the colour that the
 * reference has at columns of that parity, and the crossed plane the other one (see planes.ts); a tap an even number of
 * columns away comes from one and an odd number from the other, so the row comes out as a mosaic again. A picture in planes
 * gives the same plane for both.
 *
 * Trust is 1 below clipLow and falls smoothly (3t² − 2t³) to 0 at clipHigh of the largest of the sixteen values read, so
 * a value that a clipped sample could have touched is not used. Taps beyond the frame's edge take the sample at the edge;
 * −1 marks places more than two pixels outside.
 *
 * `place`: i32 × 6: the first column (even) and row of the frame that the plane buffers hold, how many of each, and the
 * picture's width and height; they must hold all that is read, as far as the picture goes. `warp`: f32 × 6.
 */
export interface ResampleKernel {
  /**
   * All rows of the planes, for reference columns xFrom … xFrom + columns − 1 (xFrom a multiple of 8): values at `value` and
   * the largest of the four taps at `most`, a row of `rowBytes` for each, first element at once; up to 7 floats past the
   * last may be written. `flags`: a byte a row, 1 when any of it reaches clipLow or lies outside.
   */
  acrossRows(
    straight: Address,
    crossed: Address,
    stride: number,
    place: Address,
    xFrom: number,
    columns: number,
    warp: Address,
    table: Address,
    clipLow: number,
    value: Address,
    most: Address,
    rowBytes: number,
    flags: Address,
  ): void
  /** Reference row y from what `acrossRows` left; output in padded buffers (see planes.ts), up to 7 floats past the last. */
  downRow(
    value: Address,
    most: Address,
    rowBytes: number,
    flags: Address,
    place: Address,
    xFrom: number,
    columns: number,
    y: number,
    warp: Address,
    table: Address,
    clipLow: number,
    clipHigh: number,
    outValue: Address,
    outTrust: Address,
  ): void
  /** The reference itself: values as they are, trust from each sample alone; padded buffers. */
  ownRow(lin: Address, columns: number, clipLow: number, clipHigh: number, value: Address, trust: Address): void
}

/** Stands for "largest value" where a place lies outside the frame. */
const OUTSIDE = 1e30

const smooth = (p: number, low: number, high: number) => {
  const t = Math.min(1, Math.max(0, (high - p) / (high - low)))
  return t * t * (3 - 2 * t)
}

/** A position as a whole number of 2⁻²⁴ pixels, so that both kernels step from block to block alike. */
const ONE = 2 ** 24
const fixed = (v: number) => Math.floor(v * ONE + 0.5)
/** The whole pixels of such a position, and where the weights of its phase begin in the table. */
function split(position: number) {
  const whole = Math.floor(position / ONE)
  return { whole, weights: Math.floor((position - whole * ONE) / (ONE / PHASES) + 0.5) * 4 }
}

const clamp = (v: number, low: number, high: number) => Math.min(high, Math.max(low, v))

type Warp = [number, number, number, number, number, number]

export function plainResample(memory: Memory): ResampleKernel {
  /** What of the picture the buffers hold. */
  const held = (place: Address) => {
    const [left, top, columns, rows, width, height] = memory.i32(place, 6) as unknown as Warp
    const [x0, x1] = [Math.max(0, left), Math.min(width, left + columns) - 1]
    const [y0, y1] = [Math.max(0, top), Math.min(height, top + rows) - 1]
    return { left, top, rows, x0, x1, y0, y1 }
  }
  return {
    acrossRows(straight, crossed, stride, place, xFrom, columns, warp, table, clipLow, value, most, rowBytes, flags) {
      const { left, top, rows, x0, x1 } = held(place)
      const planes = [memory.f32(straight, rows * stride), memory.f32(crossed, rows * stride)] as const
      const [m00, m01, m02, m10, m11, m12] = memory.f32(warp, 6) as unknown as Warp
      const weights = memory.f32(table, (PHASES + 1) * 4)
      const flag = memory.u8(flags, rows)
      // Where a row of the frame meets the reference, its column is a·x + b·row + shift.
      const a = m00 - (m01 * m10) / m11
      const b = m01 / m11
      const shift = m02 - (m01 * m12) / m11 - 3.5
      const step = fixed(8 * a)
      for (let r = 0; r < rows; r++) {
        const values = memory.f32(value + r * rowBytes, columns + 7)
        const mosts = memory.f32(most + r * rowBytes, columns + 7)
        flag[r] = 0
        const start = fixed(a * (xFrom + 3.5) + b * (top + r) + shift)
        for (let block = 0; block < columns; block += 8) {
          const { whole: ix, weights: w } = split(start + (block / 8) * step)
          for (let lane = 0; lane < 8; lane++) {
            const x = ix + lane
            let sum = 0
            let top = OUTSIDE
            if (x >= x0 - 2 && x <= x1 + 1 && x1 >= x0) {
              top = -Infinity
              for (let i = 0; i < 4; i++) {
                const column = clamp(x + i - 1, x0, x1)
                const v = planes[((column ^ lane) & 1) as 0 | 1][r * stride + PLANE_PAD + column - left]!
                sum += weights[w + i]! * v
                if (v > top) top = v
              }
            }
            values[block + lane] = sum
            mosts[block + lane] = top
            if (block + lane < columns && top >= clipLow) flag[r] = 1
          }
        }
      }
    },
    downRow(
      value,
      most,
      rowBytes,
      flags,
      place,
      xFrom,
      columns,
      y,
      warp,
      table,
      clipLow,
      clipHigh,
      outValue,
      outTrust,
    ) {
      const { top, rows, y0, y1 } = held(place)
      const [, , , m10, m11, m12] = memory.f32(warp, 6) as unknown as Warp
      const weights = memory.f32(table, (PHASES + 1) * 4)
      const values = memory.f32(value, (rows * rowBytes) / 4)
      const mosts = memory.f32(most, (rows * rowBytes) / 4)
      const flag = memory.u8(flags, rows)
      const start = fixed(m10 * (xFrom + 3.5) + m11 * y + m12)
      const step = fixed(8 * m10)
      const toValue = memory.f32(outValue, PLANE_PAD + columns + 7)
      const toTrust = memory.f32(outTrust, PLANE_PAD + columns + 7)
      for (let block = 0; block < columns; block += 8) {
        const { whole: iy, weights: w } = split(start + (block / 8) * step)
        const near = iy >= y0 - 2 && iy <= y1 + 1 && y1 >= y0
        const at = [-1, 0, 1, 2].map((j) => clamp(iy + j, y0, y1) - top)
        const flagged = near && at.some((r) => flag[r] === 1)
        for (let lane = 0; lane < 8; lane++) {
          const out = PLANE_PAD + block + lane
          if (!near) {
            toValue[out] = 0
            toTrust[out] = -1
            continue
          }
          let sum = 0
          let top = -Infinity
          at.forEach((r, j) => {
            const i = (r * rowBytes) / 4 + block + lane
            sum += weights[w + j]! * values[i]!
            if (mosts[i]! > top) top = mosts[i]!
          })
          toValue[out] = sum
          toTrust[out] = !flagged ? 1 : top >= OUTSIDE * 0.99 ? -1 : smooth(top, clipLow, clipHigh)
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
