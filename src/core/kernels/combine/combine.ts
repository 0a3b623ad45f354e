import type { Address, Memory } from '../arena.ts'
import { CELL } from '../luma/luma.ts'
import { PLANE_PAD } from '../planes/planes.ts'

/**
 * The merge of one row: the inverse-variance mean of what the frames say about each sample.
 *
 * Frame k says Φ_k = gain_k·v_k with variance S_k·Φ + O_k (Poisson–Gaussian noise, already scaled to the reference:
 * S_k = gain_k·S, O_k = gain_k²·O). Weights need Φ itself; the mean of the neighbourhood (a cell) is taken for it, one
 * value for eight columns, so that a sample's own noise does not choose its own weights, which would pull dark areas down.
 * Wrong weights cost little: the mean stays unbiased with any, and in the light they hardly depend on Φ.
 * Optimality of these weights: Hasinoff, Durand, Freeman 2010; Granados et al. 2010.
 *
 * Negative values are kept. Where no frame may be trusted, the floors decide (the shortest frame), and the sample counts
 * as clipped.
 */
export interface CombineKernel {
  /**
   * `frames`: count × COMBINE_WORDS words: value row address (u32), trust row address (u32), then f32: gain, floor,
   * S of even columns, S of odd ones, O of even columns, O of odd ones. Value and trust rows are padded buffers as in
   * planes.ts; trust −1 = outside the frame. `cellsAbove`, `cellsBelow`: f32 × 4 per cell (even, odd, even, odd expected Φ) for
   * the two cell rows about this row, `cellFraction` between them. `out`, `variance`: f32, `columns` each,
   * unpadded, for the columns from xFrom (a multiple of 8) on.
   * Returns how many samples no frame could be trusted for.
   */
  combineRow(
    frames: Address,
    count: number,
    xFrom: number,
    columns: number,
    cellsAbove: Address,
    cellsBelow: Address,
    cellFraction: number,
    cellCount: number,
    out: Address,
    variance: Address,
  ): number
}

export const COMBINE_WORDS = 8
/** Below this sum of trust a sample counts as clipped in every frame. */
const TRUSTED = 0.02

export function plainCombine(memory: Memory): CombineKernel {
  return {
    combineRow(frames, count, xFrom, columns, cellsAbove, cellsBelow, cellFraction, cellCount, out, variance) {
      const words = memory.u32(frames, count * COMBINE_WORDS)
      const numbers = memory.f32(frames, count * COMBINE_WORDS)
      const above = memory.f32(cellsAbove, cellCount * 4)
      const below = memory.f32(cellsBelow, cellCount * 4)
      const to = memory.f32(out, columns)
      const toVariance = memory.f32(variance, columns)
      const rows = Array.from({ length: count }, (_, k) => {
        const w = k * COMBINE_WORDS
        return {
          value: memory.f32(words[w]!, PLANE_PAD + columns),
          trust: memory.f32(words[w + 1]!, PLANE_PAD + columns),
          gain: numbers[w + 2]!,
          floor: numbers[w + 3]!,
          s: [numbers[w + 4]!, numbers[w + 5]!] as const,
          o: [numbers[w + 6]!, numbers[w + 7]!] as const,
        }
      })
      let clipped = 0
      for (let x = 0; x < columns; x++) {
        const parity = (x & 1) as 0 | 1
        const block = x & ~7
        const position = Math.min(Math.max((xFrom + block + 4) / CELL - 0.5, 0), cellCount - 1)
        const c0 = Math.min(Math.floor(position), Math.max(0, cellCount - 2))
        const c1 = Math.min(c0 + 1, cellCount - 1)
        const along = position - c0
        const upper = above[c0 * 4 + parity]! * (1 - along) + above[c1 * 4 + parity]! * along
        const lower = below[c0 * 4 + parity]! * (1 - along) + below[c1 * 4 + parity]! * along
        const expected = Math.max(0, upper * (1 - cellFraction) + lower * cellFraction)
        let trusted = 0
        let sum = 0
        let weights = 0
        for (const f of rows) {
          const trust = f.trust[PLANE_PAD + x]!
          if (trust < 0) continue
          trusted += trust
          const w = Math.max(trust, f.floor) / (f.s[parity] * expected + f.o[parity])
          weights += w
          sum += w * f.gain * f.value[PLANE_PAD + x]!
        }
        const total = Math.max(weights, 1e-30)
        if (trusted < TRUSTED) clipped++
        to[x] = sum / total
        toVariance[x] = 1 / total
      }
      return clipped
    },
  }
}
