import type { Address, Memory } from '../arena.ts'
import { CELL } from '../luma/luma.ts'
import { PLANE_PAD } from '../planes/planes.ts'

/**
 * The merge of one row: the inverse-variance mean of what the frames say about each sample.
 *
 * Frame k says Φ_k = gain_k·v_k with variance S_k·Φ + O_k (Poisson–Gaussian noise, already scaled to the reference:
 * S_k = gain_k·S, O_k = gain_k²·O). Weights need Φ itself. The mean of the neighbourhood (a cell) is taken for it, so
 * that a sample's own noise does not choose its own weights, which would pull dark areas down. Only where a first mean of the
 * trusted samples, weighted by exposure, stands more than five standard deviations off the neighbourhood is that used instead.
 * Optimality of these weights: Hasinoff, Durand, Freeman 2010; Granados et al. 2010 (their iterated form).
 *
 * Negative values are kept. Where no frame may be trusted, the floors decide (the shortest frame), and the sample counts
 * as clipped.
 */
export interface CombineKernel {
  /**
   * `frames`: count × COMBINE_WORDS words: value row address (u32), trust row address (u32), then f32: gain, floor,
   * S of even columns, S of odd ones, O of even columns, O of odd ones, 1/gain, three unused. Value and trust rows are padded buffers as in
   * planes.ts; trust −1 = outside the frame. `cellsAbove`, `cellsBelow`: f32 × 4 per cell (even, odd, even, odd expected Φ) for
   * the two cell rows about this row, `cellFraction` between them. `out`, `variance`: f32 rows of `width`, unpadded.
   * Returns how many samples no frame could be trusted for.
   */
  combineRow(
    frames: Address,
    count: number,
    width: number,
    cellsAbove: Address,
    cellsBelow: Address,
    cellFraction: number,
    cellCount: number,
    out: Address,
    variance: Address,
  ): number
}

export const COMBINE_WORDS = 12
const DEVIATIONS_SQUARED = 25
/** Below this sum of trust a sample counts as clipped in every frame. */
const TRUSTED = 0.02

export function plainCombine(memory: Memory): CombineKernel {
  return {
    combineRow(frames, count, width, cellsAbove, cellsBelow, cellFraction, cellCount, out, variance) {
      const words = memory.u32(frames, count * COMBINE_WORDS)
      const numbers = memory.f32(frames, count * COMBINE_WORDS)
      const above = memory.f32(cellsAbove, cellCount * 4)
      const below = memory.f32(cellsBelow, cellCount * 4)
      const to = memory.f32(out, width)
      const toVariance = memory.f32(variance, width)
      const rows = Array.from({ length: count }, (_, k) => {
        const w = k * COMBINE_WORDS
        return {
          value: memory.f32(words[w]!, PLANE_PAD + width),
          trust: memory.f32(words[w + 1]!, PLANE_PAD + width),
          gain: numbers[w + 2]!,
          floor: numbers[w + 3]!,
          s: [numbers[w + 4]!, numbers[w + 5]!] as const,
          o: [numbers[w + 6]!, numbers[w + 7]!] as const,
        }
      })
      let clipped = 0
      for (let x = 0; x < width; x++) {
        const parity = (x & 1) as 0 | 1
        const block = x & ~3
        const position = Math.min(Math.max((block + 2) / CELL - 0.5, 0), cellCount - 1)
        const c0 = Math.min(Math.floor(position), Math.max(0, cellCount - 2))
        const c1 = Math.min(c0 + 1, cellCount - 1)
        const along = position - c0
        const upper = above[c0 * 4 + parity]! * (1 - along) + above[c1 * 4 + parity]! * along
        const lower = below[c0 * 4 + parity]! * (1 - along) + below[c1 * 4 + parity]! * along
        const expected = Math.max(0, upper * (1 - cellFraction) + lower * cellFraction)
        let trusted = 0
        let first = 0
        let exposure = 0
        let varianceOfFirst = 0
        for (const f of rows) {
          const trust = Math.max(0, f.trust[PLANE_PAD + x]!)
          trusted += trust
          first += trust * f.value[PLANE_PAD + x]!
          exposure += trust / f.gain
          varianceOfFirst += (trust / f.gain) * (trust / f.gain) * (f.s[parity] * expected + f.o[parity])
        }
        // (first/exposure − expected)² against its variance over exposure², multiplied out.
        const off = first - expected * exposure
        const phi =
          off * off > DEVIATIONS_SQUARED * varianceOfFirst ? Math.max(0, first / Math.max(exposure, 1e-30)) : expected
        let sum = 0
        let weights = 0
        for (const f of rows) {
          const trust = f.trust[PLANE_PAD + x]!
          if (trust < 0) continue
          const w = Math.max(trust, f.floor) / (f.s[parity] * phi + f.o[parity])
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
