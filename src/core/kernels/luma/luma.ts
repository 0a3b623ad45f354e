import type { Address, Memory } from '../arena.ts'

/**
 * What alignment and weighting need to know of a frame at reduced size: a half-size green picture on a scale where shot
 * noise is even, and the mean of every 16×16 cell for each of the four phases of the 2×2 pattern.
 *
 * `halfLumaRows`: out = √max(0, gain·(a + b − blackSum) + offset), a and b the two green samples of a 2×2 block (their mean
 * stands at the block's centre, so half-size pixel i has its centre at full-size position 2i + 0.5). The square root
 * with an offset for the read noise is Anscombe's transform (1948; generalised form in Starck, Murtagh, Bijaoui 1998).
 *
 * Samples are u16, row-major, `width` a row; heights and widths need not be even: the last odd row or column is not used.
 */
export interface LumaKernel {
  /** Rows y0 ≤ y < y1 of the half-size picture (width >> 1 a row) at `dst`. greenFirst: 1 when row 0's greens are at even columns. */
  halfLumaRows(
    src: Address,
    width: number,
    y0: number,
    y1: number,
    dst: Address,
    greenFirst: number,
    blackSum: number,
    gain: number,
    offset: number,
  ): void
  /**
   * One row of cells. Per cell five f32 at `dst`: the means of phases (even row, even column), (even, odd), (odd, even),
   * (odd, odd), then the largest sample. Cells at the right and bottom edge may be smaller. A phase without samples gets 0.
   */
  cellRow(src: Address, width: number, height: number, cellY: number, dst: Address): void
}

export const CELL = 16
export const CELL_FLOATS = 5

export function plainLuma(memory: Memory): LumaKernel {
  return {
    halfLumaRows(src, width, y0, y1, dst, greenFirst, blackSum, gain, offset) {
      const half = width >> 1
      const from = memory.u16(src, 2 * y1 * width)
      const to = memory.f32(dst, y1 * half)
      const upper = greenFirst ? 0 : 1
      const f = Math.fround
      for (let y = y0; y < y1; y++) {
        let a = 2 * y * width + upper
        let b = (2 * y + 1) * width + 1 - upper
        for (let x = 0; x < half; x++, a += 2, b += 2) {
          const sum = f(f(from[a]! + from[b]!) - f(blackSum))
          to[y * half + x] = f(Math.sqrt(Math.max(0, f(f(sum * f(gain)) + f(offset)))))
        }
      }
    },
    cellRow(src, width, height, cellY, dst) {
      const top = cellY * CELL
      const bottom = Math.min(height, top + CELL)
      const from = memory.u16(src, width * height)
      const cells = Math.ceil(width / CELL)
      const to = memory.f32(dst, cells * CELL_FLOATS)
      for (let c = 0; c < cells; c++) {
        const sums = [0, 0, 0, 0]
        const counts = [0, 0, 0, 0]
        let peak = 0
        for (let y = top; y < bottom; y++) {
          for (let x = c * CELL; x < Math.min(width, (c + 1) * CELL); x++) {
            const v = from[y * width + x]!
            const phase = ((y & 1) << 1) | (x & 1)
            sums[phase]! += v
            counts[phase]! += 1
            if (v > peak) peak = v
          }
        }
        for (let p = 0; p < 4; p++) to[c * CELL_FLOATS + p] = counts[p]! > 0 ? sums[p]! / counts[p]! : 0
        to[c * CELL_FLOATS + 4] = peak
      }
    },
  }
}
