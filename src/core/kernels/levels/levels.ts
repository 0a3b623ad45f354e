import type { Address, Memory } from '../arena.ts'

/**
 * What a mosaic's levels are: how many samples are clipped, how many stand at each level, and a picture at quarter size
 * in which lines can be followed.
 *
 * Samples are u16, row-major, `width` a row, phases of the 2×2 pattern in row order (even row even column, even odd, odd
 * even, odd odd). Counts are added to what stands there, so that a picture can be taken strip by strip.
 */
export interface LevelsKernel {
  /** Rows y0 ≤ y < y1: samples of each phase at or above its limit (four u16 at `limits`), added to four u32 at `counts`. */
  countClipped(src: Address, width: number, y0: number, y1: number, limits: Address, counts: Address): void
  /**
   * Blocks of 2×2 in block rows y0, y0 + step, … < y1: added to five tables of LEVEL_BINS u32 at `tables`, one for each
   * phase and the last for the mean of the four. The bin is the sample >> shift, the last bin where that is beyond.
   */
  countLevels(src: Address, width: number, y0: number, y1: number, step: number, shift: number, tables: Address): void
  /**
   * Rows y0 ≤ y < y1 of the quarter-size picture (width >> 2 a row) at `dst`: √max(0, gain·(sum of 4×4 samples − blackSum) +
   * offset), on which shot noise is even (Anscombe 1948). Pixel i has its centre at full-size position 4i + 1.5.
   */
  quarterRows(
    src: Address,
    width: number,
    y0: number,
    y1: number,
    dst: Address,
    blackSum: number,
    gain: number,
    offset: number,
  ): void
}

export const LEVEL_BINS = 4096

export function plainLevels(memory: Memory): LevelsKernel {
  const f = Math.fround
  return {
    countClipped(src, width, y0, y1, limits, counts) {
      const from = memory.u16(src, y1 * width)
      const limit = memory.u16(limits, 4)
      const to = memory.u32(counts, 4)
      for (let y = y0; y < y1; y++)
        for (let x = 0; x < width; x++) {
          const phase = ((y & 1) << 1) | (x & 1)
          if (from[y * width + x]! >= limit[phase]!) to[phase]! += 1
        }
    },
    countLevels(src, width, y0, y1, step, shift, tables) {
      const from = memory.u16(src, 2 * y1 * width)
      const to = memory.u32(tables, 5 * LEVEL_BINS)
      const last = LEVEL_BINS - 1
      for (let y = y0; y < y1; y += step)
        for (let x = 0; x < width >> 1; x++) {
          const i = 2 * y * width + 2 * x
          const four = [from[i]!, from[i + 1]!, from[i + width]!, from[i + width + 1]!] as const
          for (const [k, v] of four.entries()) to[k * LEVEL_BINS + Math.min(last, v >> shift)]! += 1
          const sum = four[0] + four[1] + four[2] + four[3]
          to[4 * LEVEL_BINS + Math.min(last, sum >> (shift + 2))]! += 1
        }
    },
    quarterRows(src, width, y0, y1, dst, blackSum, gain, offset) {
      const quarter = width >> 2
      const from = memory.u16(src, 4 * y1 * width)
      const to = memory.f32(dst, y1 * quarter)
      for (let y = y0; y < y1; y++)
        for (let x = 0; x < quarter; x++) {
          let sum = 0
          for (let j = 0; j < 4; j++) for (let i = 0; i < 4; i++) sum += from[(4 * y + j) * width + 4 * x + i]!
          const scaled = f(f(f(f(sum) - f(blackSum)) * f(gain)) + f(offset))
          to[y * quarter + x] = f(Math.sqrt(Math.max(0, scaled)))
        }
    },
  }
}
