import type { Candidate } from './candidates.ts'
import type { Light } from './light.ts'

/** A straight edge between two even sides. */
export interface Edge {
  readonly x: number
  readonly y: number
  /** Direction across it, radians, 0 right, clockwise as seen. */
  readonly across: number
  /** Variance of its blur across, px²; the pixel's own 1/12 is in it. */
  readonly variance: number
}

const PASSES = 14
const FAINTEST_STEP = 10
/** What a straight edge between even sides may leave, as a share of its step. */
const MISFIT = 0.05

/**
 * Fits an edge in a round window: level, step, direction, place and width of a blurred step a + b·Φ((x cos φ + y sin φ − d)/s), by least squares
 * (Levenberg 1944). Null when it is faint, bent, double, wider than the window shows, or when a side is uneven.
 */
export function measureEdge(light: Light, at: Candidate, reach: number): Edge | null {
  const { samples, width, height, step, first, black, ceiling } = light
  const { x: x0, y: y0 } = at
  if (x0 - reach < 0 || y0 - reach < 0 || x0 + reach >= width || y0 + reach >= height) return null
  const xs: number[] = []
  const ys: number[] = []
  const fs: number[] = []
  for (let y = -reach; y <= reach; y++)
    for (let x = -reach + ((first(y0 + y) + x0 - reach) & (step - 1)); x <= reach; x += step) {
      if (x * x + y * y > reach * reach) continue
      const v = samples[(y0 + y) * width + x0 + x]!
      if (v >= ceiling) return null
      xs.push(x)
      ys.push(y)
      fs.push(v - black[(y0 + y) & 1]!)
    }
  const n = xs.length
  let mean = 0
  let [sx, sy] = [0, 0]
  for (const f of fs) mean += f / n
  for (let i = 0; i < n; i++) {
    sx += (fs[i]! - mean) * xs[i]!
    sy += (fs[i]! - mean) * ys[i]!
  }
  // A step's moment about the middle points across it.
  let m = [mean, 0, Math.atan2(sy, sx), 0, 1.5]
  m[1] = (3 * Math.hypot(sx, sy)) / (n * reach) || 1
  const noise = noiseOf(light, at, reach)
  // Half of what is asked of the fit: most places of a dark frame end here, before it.
  if (!(Math.abs(m[1]!) > 0.5 * FAINTEST_STEP * noise)) return null
  let cost = costOf(xs, ys, fs, m)
  let damping = 0.01
  for (let pass = 0; pass < PASSES; pass++) {
    const change = stepOf(xs, ys, fs, m, damping)
    if (!change) return null
    const next = m.map((v, i) => v + change[i]!)
    if (!(next[4]! > 0.15)) next[4] = 0.15
    const after = costOf(xs, ys, fs, next)
    if (after < cost) {
      const done = cost - after < 1e-4 * cost
      ;[m, cost, damping] = [next, after, damping * 0.3]
      if (done) break
    } else damping *= 6
  }
  const [, b, across, d, s] = m as [number, number, number, number, number]
  if (!(Math.abs(b) > FAINTEST_STEP * noise) || Math.abs(d) > reach / 3 || s > reach / 2.2) return null
  // Shot noise of the brighter side is in what is left; the noise above is the darker side's or a mean.
  if (Math.sqrt(cost / n) > 1.6 * noise + MISFIT * Math.abs(b)) return null
  return { x: x0 + d * Math.cos(across), y: y0 + d * Math.sin(across), across, variance: s * s }
}

/** Spread of neighbours of one colour in the window, by the median of their differences. */
function noiseOf({ samples, width, first, step }: Light, { x, y }: Candidate, reach: number): number {
  const differences: number[] = []
  for (let v = -reach; v <= reach; v += 2)
    for (let u = -reach + ((first(y + v) + x - reach) & (step - 1)); u + 2 <= reach; u += 2) {
      const i = (y + v) * width + x + u
      differences.push(Math.abs(samples[i]! - samples[i + 2]!))
    }
  differences.sort((a, b) => a - b)
  return Math.max(differences[differences.length >> 1]! / 0.954, 0.5)
}

/** Normal distribution, Abramowitz, Stegun 1964, 26.2.17: within 7.5e-8. */
function phi(x: number): number {
  const z = Math.abs(x)
  if (z > 6) return x > 0 ? 1 : 0
  const t = 1 / (1 + 0.2316419 * z)
  const tail =
    0.3989422804 *
    Math.exp(-0.5 * z * z) *
    t *
    (0.31938153 + t * (-0.356563782 + t * (1.781477937 + t * (-1.821255978 + t * 1.330274429))))
  return x > 0 ? 1 - tail : tail
}

function costOf(xs: readonly number[], ys: readonly number[], fs: readonly number[], m: readonly number[]): number {
  const [a, b, angle, d, s] = m as [number, number, number, number, number]
  const [c, n] = [Math.cos(angle), Math.sin(angle)]
  let sum = 0
  for (let i = 0; i < xs.length; i++) sum += (fs[i]! - a - b * (phi((xs[i]! * c + ys[i]! * n - d) / s) - 0.5)) ** 2
  return sum
}

/** One damped Gauss–Newton step. */
function stepOf(
  xs: readonly number[],
  ys: readonly number[],
  fs: readonly number[],
  m: readonly number[],
  damping: number,
) {
  const [a, b, angle, d, s] = m as [number, number, number, number, number]
  const [c, n] = [Math.cos(angle), Math.sin(angle)]
  const rows = Array.from({ length: 5 }, () => new Float64Array(6))
  const g = new Float64Array(6)
  for (let i = 0; i < xs.length; i++) {
    const t = (xs[i]! * c + ys[i]! * n - d) / s
    const p = phi(t) - 0.5
    const slope = ((0.3989422804 * Math.exp(-0.5 * t * t)) / s) * b
    g[0] = 1
    g[1] = p
    g[2] = slope * (-xs[i]! * n + ys[i]! * c)
    g[3] = -slope
    g[4] = -slope * t
    g[5] = fs[i]! - a - b * p
    for (let j = 0; j < 5; j++) for (let k = j; k < 6; k++) rows[j]![k]! += g[j]! * g[k]!
  }
  for (let j = 0; j < 5; j++) {
    for (let k = 0; k < j; k++) rows[j]![k] = rows[k]![j]!
    rows[j]![j]! *= 1 + damping
  }
  return solve(rows)
}

/** Gaussian elimination with row exchange of [A | b]; null when singular. */
export function solve(rows: Float64Array[]): number[] | null {
  const n = rows.length
  for (let i = 0; i < n; i++) {
    let pivot = i
    for (let j = i + 1; j < n; j++) if (Math.abs(rows[j]![i]!) > Math.abs(rows[pivot]![i]!)) pivot = j
    ;[rows[i], rows[pivot]] = [rows[pivot]!, rows[i]!]
    const head = rows[i]![i]!
    if (!(Math.abs(head) > 1e-12)) return null
    for (let j = i + 1; j < n; j++) {
      const k = rows[j]![i]! / head
      for (let c = i; c <= n; c++) rows[j]![c]! -= k * rows[i]![c]!
    }
  }
  const out = new Array<number>(n).fill(0)
  for (let i = n - 1; i >= 0; i--) {
    let v = rows[i]![n]!
    for (let c = i + 1; c < n; c++) v -= rows[i]![c]! * out[c]!
    out[i] = v / rows[i]![i]!
  }
  return out
}
