import type { Candidate } from './candidates.ts'
import type { Light } from './light.ts'

/** A lamp as one blob of light. Positions in pixels, pixel centres at whole numbers. */
export interface Lamp {
  readonly x: number
  readonly y: number
  /** Level around it, stored values over black. */
  readonly background: number
  /** Spread of the samples around it. */
  readonly noise: number
  /** Its light under the weight, stored values times samples. */
  readonly light: number
  /** Size squared of the blob as a round Gaussian would have it, px²; pixel integration is in it. */
  readonly size: number
  /** Highest sample over the spread around. */
  readonly strength: number
  /** Weighted second moments along 0° less 90°, and along 45° less 135°, over `size`. */
  readonly stretch: readonly [number, number]
}

/** Why a candidate is not measured. */
export type NoLamp = 'edge' | 'saturated' | 'crowded' | 'faint' | 'hot-pixel' | 'large' | 'lost'

/** Background is read in a ring of this thickness around the window. */
const RING = 3
const PASSES = 12
/** Light under the weight over its own noise. */
const FAINTEST = 12
/** Mean of the middle five samples over the spread around. */
const FAINTEST_TOP = 3.5
const ring = new Float64Array(4096)
const across = new Float64Array(64)

/**
 * Measures one blob in a window of radius `reach`: robust background from the ring around it, then centre and size by
 * moments under a round Gaussian weight that follows both (adaptive moments: Bernstein, Jarvis 2002), freed of the
 * weight by 1/size = 1/found − 1/weight.
 */
export function measureLamp(light: Light, { x, y }: Candidate, reach: number): Lamp | NoLamp {
  const around = ringOf(light, x, y, reach)
  if (!around) return 'edge'
  const { background, noise, high } = around
  const top = topOf(light, x, y) - background
  if (!(top > FAINTEST_TOP * noise)) return 'faint'
  if (high > 4 * noise + 0.1 * top) return 'crowded'
  let [cx, cy] = [x, y]
  let weight = 4
  let found = sums(light, cx, cy, reach, weight, background)
  for (let pass = 0; pass < PASSES; pass++) {
    if (!found) return 'saturated'
    if (!(found.light > 0)) return 'faint'
    const [dx, dy] = [found.dx * 1.6, found.dy * 1.6]
    cx += dx
    cy += dy
    if (Math.hypot(cx - x, cy - y) > reach) return 'lost'
    const free = 1 / Math.max(1 / found.second - 1 / weight, 1 / (reach * reach))
    const next = Math.min(Math.max(free, 1), (reach * reach) / 4)
    const settled = Math.abs(dx) + Math.abs(dy) < 0.01 && Math.abs(next / weight - 1) < 0.02
    weight = next
    found = sums(light, cx, cy, reach, weight, background)
    if (settled) break
  }
  if (!found) return 'saturated'
  if (!(found.light > FAINTEST * noise * Math.sqrt(found.weightSquares))) return 'faint'
  if (found.loneliness > 0.85) return 'hot-pixel'
  if (high > 4 * noise + 0.06 * found.peak) return 'crowded'
  const size = 1 / (1 / found.second - 1 / weight)
  if (!(size > 0 && size < (reach * reach) / 5)) return 'large'
  const stretch = [(4 * found.plus) / size, (4 * found.cross) / size] as const
  return { x: cx, y: cy, background, noise, light: found.light, size, strength: found.peak / noise, stretch }
}

/** Mean of the sample and its four nearest, over black. */
function topOf({ samples, width, step, black }: Light, x: number, y: number): number {
  const [right, below] = step === 1 ? [1, width] : [width + 1, width - 1]
  const i = y * width + x
  const sum = samples[i]! + samples[i + right]! + samples[i - right]! + samples[i + below]! + samples[i - below]!
  return sum / 5 - (black[0] + black[1]) / 2
}

/** Median, spread and brightest part of the ring; null where the window leaves the picture. */
function ringOf({ samples, width, height, step, first, black }: Light, x: number, y: number, reach: number) {
  const outer = reach + RING
  if (x - outer < 0 || y - outer < 0 || x + outer >= width || y + outer >= height) return null
  let n = 0
  for (let v = -outer; v <= outer; v++) {
    const row = y + v
    const from = x - outer + ((first(row) + x - outer) & (step - 1))
    for (let c = from; c <= x + outer; c += step) {
      const d = (c - x) ** 2 + v * v
      if (d > reach * reach && d <= outer * outer) ring[n++] = samples[row * width + c]! - black[row & 1]!
    }
  }
  const values = ring.subarray(0, n).sort()
  const background = (values[(n - 1) >> 1]! + values[n >> 1]!) / 2
  const low = values[Math.floor(n * 0.1587)]!
  // A line of light that crosses covers about five pixels of the circle: two of them must show.
  const high = values[Math.floor(n * (1 - 2 / (2 * Math.PI * (reach + RING / 2))))]! - background
  // The lower side alone: neighbours only add light. Half a code at the least: rounding.
  return { background, noise: Math.max(background - low, 0.5), high }
}

interface Sums {
  readonly light: number
  readonly dx: number
  readonly dy: number
  /** Mean of the second moments along both axes, px². */
  readonly second: number
  readonly plus: number
  readonly cross: number
  readonly weightSquares: number
  readonly peak: number
  /** Share of the brightest sample in its nearest nine (all colours). */
  readonly loneliness: number
}

function sums(l: Light, cx: number, cy: number, reach: number, weight: number, background: number): Sums | null {
  const { samples, width, step, first, black, ceiling } = l
  const [x0, y0] = [Math.round(cx), Math.round(cy)]
  const r = Math.min(reach, Math.ceil(3 * Math.sqrt(weight)))
  if (x0 - r < 1 || y0 - r < 1 || x0 + r >= width - 1 || y0 + r >= l.height - 1) return null
  let [s, sx, sy, xx, yy, xy, ww] = [0, 0, 0, 0, 0, 0, 0]
  let [peak, peakAt] = [-1, 0]
  const fall = -0.5 / weight
  for (let i = 0; i <= 2 * r; i++) across[i] = Math.exp(fall * (x0 - r + i - cx) ** 2)
  for (let row = y0 - r; row <= y0 + r; row++) {
    const v = row - cy
    const wv = Math.exp(fall * v * v)
    const zero = black[row & 1]! + background
    for (let c = x0 - r + ((first(row) + x0 - r) & (step - 1)); c <= x0 + r; c += step) {
      const i = row * width + c
      const value = samples[i]!
      if (value >= ceiling) return null
      const u = c - cx
      const w = wv * across[c - x0 + r]!
      const f = w * (value - zero)
      if (value - zero > peak) {
        peak = value - zero
        peakAt = i
      }
      s += f
      sx += f * u
      sy += f * v
      xx += f * u * u
      yy += f * v * v
      xy += f * u * v
      ww += w * w
    }
  }
  let nine = 0
  const base = background + (black[0] + black[1]) / 2
  for (const d of [-width, 0, width]) for (const e of [-1, 0, 1]) nine += Math.max(0, samples[peakAt + d + e]! - base)
  const [dx, dy] = [sx / s, sy / s]
  return {
    light: s,
    dx,
    dy,
    second: Math.max((xx + yy) / (2 * s) - (dx * dx + dy * dy) / 2, 0.05),
    plus: (xx - yy) / s - dx * dx + dy * dy,
    cross: (2 * xy) / s - 2 * dx * dy,
    weightSquares: ww,
    peak,
    loneliness: peak / Math.max(nine, peak),
  }
}
