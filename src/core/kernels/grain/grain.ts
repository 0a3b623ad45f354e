import type { Address, Memory } from '../arena.ts'

/**
 * What blocks of 32 × 32 pixels of a mosaic say about noise, each of the four phases of the 2×2 pattern by itself (16 × 16
 * samples). `variance` is the mean square of the mask (1 −2 1)ᵀ(1 −2 1) over 36, which is the variance of white noise and is
 * blind to planes and to straight level or upright edges (Immerkær 1996, "Fast noise variance estimation"). `coarse` is
 * the same from sums of 2 × 2 samples, over 4: equal for white noise, larger where there is texture.
 */
export interface GrainKernel {
  /**
   * `count` blocks of rows y…y+31, the k-th at columns x + k·stride … + 31; x and y even, all inside the picture. Per block
   * GRAIN_FLOATS f32 at `dst`: four means, four variances, four coarse variances, four lowest and four highest
   * samples, the phases in row order (even row even column first).
   */
  grainBlocks(src: Address, width: number, x: number, y: number, stride: number, count: number, dst: Address): void
}

export const GRAIN_SIDE = 32
export const GRAIN_FLOATS = 20
/**
 * Relative standard deviation of `variance` for white noise. Residuals of n × n correlate by −⅔ and ⅙ one and two apart, so the
 * variance of their mean square is 2·(1 + 2·(n−1)/n·(⅔)² + 2·(n−2)/n·(⅙)²)²/n²; n = 14.
 */
export const GRAIN_SPREAD = 0.189
/** The same for `coarse`: n = 6. */
export const GRAIN_COARSE_SPREAD = 0.419

export function plainGrain(memory: Memory): GrainKernel {
  const f = Math.fround
  return {
    grainBlocks(src, width, x, y, stride, count, dst) {
      const to = memory.f32(dst, count * GRAIN_FLOATS)
      for (let k = 0; k < count; k++) {
        const from = memory.u16(src + 2 * (y * width + x + k * stride), 31 * width + 32)
        for (let phase = 0; phase < 4; phase++) {
          const at = (phase >> 1) * width + (phase & 1)
          // Row r, column c of one phase's 16 × 16 samples.
          const v = (r: number, c: number) => from[at + 2 * r * width + 2 * c]!
          const q = (r: number, c: number) =>
            v(2 * r, 2 * c) + v(2 * r, 2 * c + 1) + v(2 * r + 1, 2 * c) + v(2 * r + 1, 2 * c + 1)
          let sum = 0
          let low = 65535
          let high = 0
          for (let r = 0; r < 16; r++)
            for (let c = 0; c < 16; c++) {
              sum += v(r, c)
              low = Math.min(low, v(r, c))
              high = Math.max(high, v(r, c))
            }
          // Added up as the vectors do: even and odd columns of samples apart, column pairs outside, rows inside.
          const fine = [0, 0]
          for (let c = 0; c < 14; c++)
            for (let r = 0; r < 14; r++) {
              const h = mask(v, r, c)
              fine[c & 1] = f(fine[c & 1]! + f(h * h))
            }
          let coarse = 0
          for (let r = 0; r < 6; r++)
            for (let c = 0; c < 6; c++) {
              const h = mask(q, r, c)
              coarse = f(coarse + f(h * h))
            }
          const o = k * GRAIN_FLOATS + phase
          to[o] = f(sum / 256)
          to[o + 4] = f(f(fine[0]! + fine[1]!) * f(1 / (36 * 14 * 14)))
          to[o + 8] = f(coarse * f(1 / (4 * 36 * 6 * 6)))
          to[o + 12] = low
          to[o + 16] = high
        }
      }
    },
  }
}

function mask(v: (r: number, c: number) => number, r: number, c: number): number {
  const row = (j: number) => v(j, c) - 2 * v(j, c + 1) + v(j, c + 2)
  return row(r) - 2 * row(r + 1) + row(r + 2)
}
