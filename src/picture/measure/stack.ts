import type { Light } from './light.ts'
import { covarianceOf, type Placed, type Shape } from './pool.ts'

/**
 * The mean blob of many lamps, on a grid finer than the pixels: lamps stand anywhere between the sites, so together they
 * sample the blob finely although each is sampled at every second site. Sums, so that stacks add and subtract.
 */
export interface Stack {
  /** Cells a side; the blob's centre is that of the middle cell. */
  readonly side: number
  /** Side of a cell in pixels. */
  readonly cell: number
  readonly values: Float64Array
  readonly weights: Float64Array
}

/** Each sample goes to the cells within this many, by a Gaussian of `SPREAD` cells: fills gaps, adds the same blur every way. */
const SPLAT = 2
const SPREAD = 0.9

/** Variance along each axis that the spreading adds, px². */
export const stackBlur = (stack: Stack): number => (SPREAD * stack.cell) ** 2

export const emptyStack = (reach: number): Stack => {
  const cell = reach < 12 ? 0.5 : 1
  const side = 2 * Math.ceil(reach / cell) + 1
  return { side, cell, values: new Float64Array(side * side), weights: new Float64Array(side * side) }
}

/**
 * Adds what the common shape leaves of one lamp, over its height. `worth` is its say: (signal over noise)². Only the
 * difference is spread on the grid: the shape itself is known between the sites and comes back with `meanBlob`.
 */
export function addLamp(to: Stack, light: Light, lamp: Placed, { p, q, r }: Shape, worth: number): void {
  const { samples, width, height, step, first, black } = light
  const { cell } = to
  const half = (to.side - 1) / 2
  const reach = Math.floor((half - SPLAT) * cell)
  const [x0, y0] = [Math.round(lamp.x), Math.round(lamp.y)]
  const fall = -0.5 / (SPREAD * SPREAD)
  const across = new Float64Array(2 * SPLAT + 1)
  for (let y = Math.max(0, y0 - reach); y <= Math.min(height - 1, y0 + reach); y++) {
    const zero = black[y & 1]! + lamp.background
    const dy = y - lamp.y
    const v = dy / cell + half
    const row = Math.round(v)
    const left = Math.max(0, x0 - reach)
    for (let x = left + ((first(y) + left) & (step - 1)); x <= Math.min(width - 1, x0 + reach); x += step) {
      const dx = x - lamp.x
      const known = Math.exp(-0.5 * (p * dx * dx + q * dy * dy) - r * dx * dy)
      const value = (samples[y * width + x]! - zero) / lamp.height - known
      const u = dx / cell + half
      const column = Math.round(u)
      // A lamp off its pixel's centre may reach the rim.
      if (Math.max(Math.abs(column - half), Math.abs(row - half)) > half - SPLAT) continue
      for (let i = -SPLAT; i <= SPLAT; i++) across[i + SPLAT] = worth * Math.exp(fall * (column + i - u) ** 2)
      for (let j = -SPLAT; j <= SPLAT; j++) {
        const down = Math.exp(fall * (row + j - v) ** 2)
        const at = (row + j) * to.side + column
        for (let i = -SPLAT; i <= SPLAT; i++) {
          const w = down * across[i + SPLAT]!
          to.values[at + i]! += w * value
          to.weights[at + i]! += w
        }
      }
    }
  }
}

/** The mean blob: what the lamps left, and the shape, as wide as the spreading made the rest. */
export function meanBlob({ side, cell, values, weights }: Stack, shape: Shape): Float64Array {
  const half = (side - 1) / 2
  const c = covarianceOf(shape)
  const s2 = (SPREAD * cell) ** 2
  const [xx, yy, xy] = [c.xx + s2, c.yy + s2, c.xy]
  const det = xx * yy - xy * xy
  const scale = Math.sqrt((c.xx * c.yy - c.xy * c.xy) / det)
  const out = new Float64Array(side * side)
  for (let y = 0; y < side; y++)
    for (let x = 0; x < side; x++) {
      const [u, v] = [(x - half) * cell, (y - half) * cell]
      const i = y * side + x
      const left = weights[i]! > 1e-12 ? values[i]! / weights[i]! : 0
      out[i] = left + scale * Math.exp((-0.5 * (yy * u * u - 2 * xy * u * v + xx * v * v)) / det)
    }
  return out
}

export function addStacks(a: Stack, b: Stack): Stack {
  const values = a.values.map((v, i) => v + b.values[i]!)
  return { ...a, values, weights: a.weights.map((w, i) => w + b.weights[i]!) }
}

/** The whole without a part; cells that only the part had filled are empty, not a rest of rounding. */
export function withoutPart(whole: Stack, part: Stack): Stack {
  const weights = whole.weights.map((w, i) => (part.weights[i]! > (1 - 1e-9) * w ? 0 : w - part.weights[i]!))
  return { ...whole, values: whole.values.map((v, i) => (weights[i] === 0 ? 0 : v - part.values[i]!)), weights }
}
