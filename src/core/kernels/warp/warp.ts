import type { Address, Memory } from '../arena.ts'

/**
 * A picture bent by radial and tangential terms, resampled by a six-tap windowed sinc in each direction (Lanczos, three
 * lobes; Duchon 1979). What falls below the darkest of the nearest 4 × 4 samples is kept within an eighth of that
 * sample: the negative lobes would else dig black rings around a lamp a thousand times brighter than its
 * wall. Nothing limits it upward, so that the top of a light between two samples is not cut. On plain noise the limit
 * acts so seldom that the mean moves by 0.003 standard deviations at most.
 *
 * For output column x of row y: Δ = ((x, y) − c)·inverse, r² = |Δ|² ≤ 1, g = kr0 − 1 + r²(kr1 + r²(kr2 + r²·kr3)), and the
 * source stands at (x, y) + m·(gΔx + kt0·2ΔxΔy + kt1(r² + 2Δx²), gΔy + kt1·2ΔxΔy + kt0(r² + 2Δy²)): DNG 1.6 chapter 7,
 * WarpRectilinear, written as a displacement so that single precision holds 1e-5 px. Outside, the edge repeats.
 */
export interface WarpKernel {
  /**
   * Row `y` of the f32 plane `src` (width × height) bent into the row at `dst` (width floats).
   * `terms`: nine f32 kr0 − 1, kr1, kr2, kr3, kt0, kt1, centre x, centre y, m. `table`: see `writeWarpTable`.
   */
  warpRow(src: Address, dst: Address, width: number, height: number, y: number, terms: Address, table: Address): void
}

/** Fractions of a pixel that the table resolves: an error of 1/2048 px at most. */
export const WARP_PHASES = 1024
/** Bytes of the weight table: 1025 rows of eight f32, the last two of each 0. */
export const WARP_TABLE_BYTES = (WARP_PHASES + 1) * 8 * 4

/**
 * Fills the weight table; row p holds the weights of samples −2 … 3 for the fraction p/1024. They sum to 1, and the two
 * middle ones are shifted against each other so that a ramp is read exactly: the plain windowed sinc reads it up to
 * 0.02 px beside, which would bend the picture by its own period.
 */
export function writeWarpTable(memory: Memory, table: Address): void {
  const rows = memory.f32(table, WARP_TABLE_BYTES / 4)
  for (let p = 0; p <= WARP_PHASES; p++) {
    const weights = Array.from({ length: 6 }, (_, i) => lanczos3(i - 2 - p / WARP_PHASES))
    const sum = weights.reduce((a, b) => a + b)
    const centre = weights.reduce((a, w, i) => a + w * (i - 2), 0) / sum
    const beside = p / WARP_PHASES - centre
    for (let i = 0; i < 8; i++) rows[8 * p + i] = (weights[i] ?? 0) / sum
    rows[8 * p + 2]! -= beside
    rows[8 * p + 3]! += beside
  }
}

const sinc = (t: number) => (t === 0 ? 1 : Math.sin(Math.PI * t) / (Math.PI * t))
// Integers are exact zeros: without this a whole-pixel shift would not be an exact copy.
const lanczos3 = (t: number) => (t === 0 ? 1 : Number.isInteger(t) || Math.abs(t) >= 3 ? 0 : sinc(t) * sinc(t / 3))

const f = Math.fround
/** Far beyond any picture, well within 32 bits. */
const FARTHEST = 1e6

export function plainWarp(memory: Memory): WarpKernel {
  const columns = new Float32Array(8)
  return {
    warpRow(srcAt, dstAt, width, height, y, termsAt, tableAt) {
      const src = memory.f32(srcAt, width * height)
      const dst = memory.f32(dstAt, width)
      const table = memory.f32(tableAt, WARP_TABLE_BYTES / 4)
      const [g0, g1, g2, g3, t0, t1, cx, cy, m] = memory.f32(termsAt, 9) as unknown as number[] as [
        number,
        number,
        number,
        number,
        number,
        number,
        number,
        number,
        number,
      ]
      const inverse = f(1 / m)
      const dy = f(f(y - cy) * inverse)
      const dy2 = f(dy * dy)
      const clampColumn = (c: number) => Math.min(Math.max(c, 0), width - 1)
      const rowAt = (r: number) => Math.min(Math.max(r, 0), height - 1) * width
      for (let x = 0; x < width; x++) {
        const dx = f(f(x - cx) * inverse)
        const dx2 = f(dx * dx)
        const r2 = Math.min(f(dx2 + dy2), 1)
        const g = f(g0 + f(r2 * f(g1 + f(r2 * f(g2 + f(r2 * g3))))))
        const cross = f(f(2 * dx) * dy)
        const tangentX = f(f(t0 * cross) + f(t1 * f(r2 + f(2 * dx2))))
        const tangentY = f(f(t1 * cross) + f(t0 * f(r2 + f(2 * dy2))))
        const ex = Math.min(Math.max(f(m * f(f(g * dx) + tangentX)), -FARTHEST), FARTHEST)
        const ey = Math.min(Math.max(f(m * f(f(g * dy) + tangentY)), -FARTHEST), FARTHEST)
        const [wholeX, wholeY] = [Math.floor(ex), Math.floor(ey)]
        const phaseX = (f(f(f(ex - wholeX) * WARP_PHASES) + 0.5) | 0) * 8
        const phaseY = (f(f(f(ey - wholeY) * WARP_PHASES) + 0.5) | 0) * 8
        const [ix, iy] = [x + (wholeX | 0), y + (wholeY | 0)]

        let low = Infinity
        for (let i = 0; i < 6; i++) {
          const c = clampColumn(ix + i - 2)
          let sum = 0
          for (let j = 0; j < 6; j++) {
            const v = src[rowAt(iy + j - 2) + c]!
            sum = j === 0 ? f(v * table[phaseY]!) : f(sum + f(v * table[phaseY + j]!))
            if (i > 0 && i < 5 && j > 0 && j < 5) low = Math.min(low, v)
          }
          columns[i] = sum
        }
        // Lanes as the fast kernel adds them: columns 4 and 5 onto 0 and 1, then (0 + 2) + (1 + 3).
        const w = (i: number) => f(columns[i]! * table[phaseX + i]!)
        const value = f(f(f(w(0) + w(4)) + w(2)) + f(f(w(1) + w(5)) + w(3)))
        dst[x] = Math.max(value, f(low - f(Math.abs(low) * 0.125)))
      }
    },
  }
}
