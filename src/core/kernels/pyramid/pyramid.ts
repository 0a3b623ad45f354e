import type { Address, Memory } from '../arena.ts'

/**
 * One step of an image pyramid: half the size, weights [1 3 3 1]/8 along each axis (the binomial filter whose output
 * pixel stands in the middle of a 2×2 block, so positions scale about the picture's corner: small = (large + 0.5)/2 − 0.5).
 * Burt, Adelson 1983 describe pyramids; the even-length binomial is our choice for its symmetry about the block.
 */
export interface PyramidKernel {
  /** Rows y0 ≤ y < y1 of the half-size f32 picture at `dst` ((width >> 1) a row) from width × height at `src`; edges replicate. */
  halveRows(src: Address, width: number, height: number, y0: number, y1: number, dst: Address): void
  /**
   * Smooths a picture in place by [1 2 1]/4 along each axis; edges replicate. `work`: 3 × width f32. What a sampled picture
   * holds near its finest wave is aliasing and falls to a quarter and less; alignment is led by the rest.
   */
  smoothPicture(at: Address, width: number, height: number, work: Address): void
}

export function plainPyramid(memory: Memory): PyramidKernel {
  return {
    halveRows(src, width, height, y0, y1, dst) {
      const half = width >> 1
      const from = memory.f32(src, width * height)
      const to = memory.f32(dst, half * y1)
      const f = Math.fround
      const column = (x: number, r0: number, r1: number, r2: number, r3: number) =>
        f(f(from[r0 + x]! + from[r3 + x]!) + f(3 * f(from[r1 + x]! + from[r2 + x]!)))
      for (let y = y0; y < y1; y++) {
        const r0 = Math.max(0, 2 * y - 1) * width
        const r1 = 2 * y * width
        const r2 = (2 * y + 1) * width
        const r3 = Math.min(height - 1, 2 * y + 2) * width
        for (let x = 0; x < half; x++) {
          const a = column(Math.max(0, 2 * x - 1), r0, r1, r2, r3)
          const b = column(2 * x, r0, r1, r2, r3)
          const c = column(2 * x + 1, r0, r1, r2, r3)
          const d = column(Math.min(width - 1, 2 * x + 2), r0, r1, r2, r3)
          to[y * half + x] = f(f(f(a + d) + f(3 * f(b + c))) / 64)
        }
      }
    },
    smoothPicture(at, width, height, work) {
      const f = Math.fround
      const all = memory.f32(at, width * height)
      const rows = [0, 1, 2].map((i) => memory.f32(work + i * width * 4, width))
      const across = (y: number) => {
        const from = Math.min(y, height - 1) * width
        const to = rows[y % 3]!
        for (let x = 0; x < width; x++) {
          const sides = f(all[from + Math.max(0, x - 1)]! + all[from + Math.min(width - 1, x + 1)]!)
          to[x] = f(f(sides + f(2 * all[from + x]!)) * 0.25)
        }
      }
      across(0)
      for (let y = 0; y < height; y++) {
        if (y + 1 < height) across(y + 1)
        const above = rows[Math.max(0, y - 1) % 3]!
        const here = rows[y % 3]!
        const below = rows[Math.min(height - 1, y + 1) % 3]!
        for (let x = 0; x < width; x++) {
          all[y * width + x] = f(f(f(above[x]! + below[x]!) + f(2 * here[x]!)) * 0.25)
        }
      }
    },
  }
}
