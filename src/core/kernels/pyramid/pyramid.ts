import type { Address, Memory } from '../arena.ts'

/**
 * One step of an image pyramid: half the size, weights [1 3 3 1]/8 along each axis (the binomial filter whose output
 * pixel stands in the middle of a 2×2 block, so positions scale about the picture's corner: small = (large + 0.5)/2 − 0.5).
 * Burt, Adelson 1983 describe pyramids; the even-length binomial is our choice for its symmetry about the block.
 */
export interface PyramidKernel {
  /** Rows y0 ≤ y < y1 of the half-size f32 picture at `dst` ((width >> 1) a row) from width × height at `src`; edges replicate. */
  halveRows(src: Address, width: number, height: number, y0: number, y1: number, dst: Address): void
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
  }
}
