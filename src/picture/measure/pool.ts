import type { Lamp } from './lamp.ts'
import type { Light } from './light.ts'

/** The one elliptical Gaussian that fits all lamps of a frame: inverse covariance, exp(−(p u² + q v²)/2 − r u v). */
export interface Shape {
  readonly p: number
  readonly q: number
  readonly r: number
}

/** A lamp placed by the common shape. */
export interface Placed {
  readonly x: number
  readonly y: number
  /** Height of the Gaussian, stored values. */
  readonly height: number
  readonly background: number
  /** Spread of the samples around it. */
  readonly noise: number
  /** Mean square of what the shape leaves beyond noise, over (height squared). */
  readonly misfit: number
  /** What noise alone lets the misfit wander by. */
  readonly grain: number
}

export interface Pool {
  readonly shape: Shape
  readonly lamps: readonly Placed[]
}

const PASSES = 6
/** Samples where the shape has fallen below e^−8 say nothing of it. */
const DEEPEST = 8

export const roundShape = (size: number): Shape => ({ p: 1 / size, q: 1 / size, r: 0 })

export const covarianceOf = ({ p, q, r }: Shape) => {
  const d = p * q - r * r
  return { xx: q / d, yy: p / d, xy: -r / d }
}

/**
 * Least squares for one shape and every lamp's own place and height at once (Gauss–Newton; each lamp's three unknowns are
 * eliminated, which leaves three equations for the shape). A single lamp on every second site says little of a sharp lens: its
 * moments lock to the sites. All lamps together, each elsewhere between the sites, do.
 */
export function poolLamps(
  light: Light,
  lamps: readonly Pick<Lamp, 'x' | 'y' | 'background' | 'noise'>[],
  reach: number,
  start: Shape,
): Pool {
  let shape = start
  let placed: Placed[] = lamps.map(({ x, y, background, noise }) => ({
    x,
    y,
    height: Number.NaN,
    background,
    noise,
    misfit: 0,
    grain: 0,
  }))
  for (let pass = 0; pass < PASSES; pass++) {
    const left = new Float64Array(9)
    const right = new Float64Array(3)
    const { xx, yy } = covarianceOf(shape)
    const window = Math.min(reach, Math.ceil(1 + 3 * Math.sqrt(Math.max(xx, yy))))
    placed = placed.map((lamp) => step(light, lamp, shape, window, left, right)).filter((l) => l !== null)
    const change = solve3(left, right)
    if (!change) break
    const next = { p: shape.p + change[0]!, q: shape.q + change[1]!, r: shape.r + change[2]! }
    // A full step may overshoot into a shape that is none: at most a third of the way down, and never singular.
    const p = Math.min(Math.max(next.p, shape.p * 0.6, 4 / (reach * reach)), shape.p * 1.6, 12)
    const q = Math.min(Math.max(next.q, shape.q * 0.6, 4 / (reach * reach)), shape.q * 1.6, 12)
    const r = Math.min(Math.max(next.r, -0.9 * Math.sqrt(p * q)), 0.9 * Math.sqrt(p * q))
    const still = Math.abs(p / shape.p - 1) + Math.abs(q / shape.q - 1) < 2e-3
    shape = { p, q, r }
    if (still && pass >= 2) break
  }
  return { shape, lamps: placed }
}

/** One lamp's step; adds its part of the equations for the shape. Null when the lamp ran away or has no height. */
function step(
  l: Light,
  lamp: Placed,
  { p, q, r }: Shape,
  window: number,
  left: Float64Array,
  right: Float64Array,
): Placed | null {
  const { samples, width, first, black } = l
  const [x0, y0] = [Math.round(lamp.x), Math.round(lamp.y)]
  if (x0 - window < 0 || y0 - window < 0 || x0 + window >= width || y0 + window >= l.height) return null
  // Unknowns: height, x, y, then the shape; derivatives of the shape at height 1. Symmetric sums, upper half.
  const squares = new Float64Array(36)
  const products = new Float64Array(6)
  const d = new Float64Array(6)
  let [ff, n] = [0, 0]
  for (let row = y0 - window; row <= y0 + window; row++) {
    const v = row - lamp.y
    const zero = black[row & 1]! + lamp.background
    for (let c = x0 - window + ((first(row) + x0 - window) & (l.step - 1)); c <= x0 + window; c += l.step) {
      const u = c - lamp.x
      const depth = 0.5 * (p * u * u + q * v * v) + r * u * v
      if (depth > DEEPEST) continue
      const f = samples[row * width + c]! - zero
      const g = Math.exp(-depth)
      d[0] = g
      d[1] = (p * u + r * v) * g
      d[2] = (q * v + r * u) * g
      d[3] = -0.5 * u * u * g
      d[4] = -0.5 * v * v * g
      d[5] = -u * v * g
      for (let i = 0; i < 6; i++) {
        products[i]! += d[i]! * f
        for (let j = i; j < 6; j++) squares[6 * i + j]! += d[i]! * d[j]!
      }
      ff += f * f
      n++
    }
  }
  const height = products[0]! / squares[0]!
  if (!(height > 3 * lamp.noise)) return null
  // Heights are scaled out, so that lamps weigh by signal over noise squared.
  const square = (i: number, j: number) => squares[i < j ? 6 * i + j : 6 * j + i]!
  const rest = (i: number) => products[i]! / height - square(0, i)
  const own = Float64Array.from({ length: 9 }, (_, k) => square(Math.floor(k / 3), k % 3))
  const ownRight = Float64Array.of(rest(0), rest(1), rest(2))
  const move = solve3(own, ownRight)
  if (!move) return null
  const say = Math.min((height / lamp.noise) ** 2, 1e4)
  for (let j = 0; j < 3; j++) {
    const column = solve3(own, Float64Array.of(square(0, j + 3), square(1, j + 3), square(2, j + 3)))!
    const eliminated = (of: (k: number) => number) => column[0]! * of(0) + column[1]! * of(1) + column[2]! * of(2)
    for (let i = 0; i < 3; i++) left[3 * i + j]! += say * (square(i + 3, j + 3) - eliminated((k) => square(k, i + 3)))
    right[j]! += say * (rest(j + 3) - eliminated((k) => ownRight[k]!))
  }
  const limit = (m: number) => Math.min(Math.max(m, -0.7), 0.7)
  const misfit = Math.max(0, (ff - products[0]! * height) / n - lamp.noise ** 2) / (height * height)
  const grain = (Math.sqrt(2 / n) * lamp.noise ** 2) / (height * height)
  return { ...lamp, x: lamp.x + limit(move[1]!), y: lamp.y + limit(move[2]!), height, misfit, grain }
}

/** Three linear equations by Cramer's rule; null when they are not independent. */
function solve3(m: Float64Array, b: Float64Array): Float64Array | null {
  const [a, c, d, e, f, g, h, i, j] = m as unknown as [
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
  const [x, y, z] = b as unknown as [number, number, number]
  const det = a * (f * j - g * i) - c * (e * j - g * h) + d * (e * i - f * h)
  if (!(Math.abs(det) > 1e-12 * Math.abs(a * f * j))) return null
  return Float64Array.of(
    (x * (f * j - g * i) - c * (y * j - g * z) + d * (y * i - f * z)) / det,
    (a * (y * j - g * z) - x * (e * j - g * h) + d * (e * z - y * h)) / det,
    (a * (f * z - y * i) - c * (e * z - y * h) + x * (e * i - f * h)) / det,
  )
}
