import { ANGLES, type Spectrum } from './spectrum.ts'

/**
 * A straight, even movement as its second moments: L²/12 · (cos 2θ, sin 2θ), px². Smooth where there is no movement, so
 * that errors average out instead of adding up to a length.
 */
export type Stretch = readonly [plus: number, cross: number]

export const lengthOf = ([p, c]: Stretch): number => Math.sqrt(12 * Math.hypot(p, c))
/** Degrees of the long axis, 0 right, clockwise as seen, 0 ≤ θ < 180. */
export const degreesOf = ([p, c]: Stretch): number => ((Math.atan2(c, p) * 90) / Math.PI + 180) % 180
const stretchOf = (length: number, angle: number): Stretch => {
  const m = (length * length) / 12
  return [m * Math.cos(2 * angle), m * Math.sin(2 * angle)]
}

export const sinc = (x: number) => (Math.abs(x) < 1e-4 ? 1 - (x * x) / 6 : Math.sin(x) / x)

/**
 * What a straight movement leaves unexplained. Rings weigh by their circumference; beyond the first zero of a movement of
 * `known` length they fade: there a bent or halting path differs from a straight one, while below its second moments rule.
 */
function misfit({ rings, values }: Spectrum, length: number, angle: number, known: number): number {
  let sum = 0
  for (let r = 0; r < rings.length; r++) {
    const k = Math.PI * length * rings[r]!
    let [dd, ds, ss] = [0, 0, 1e-12]
    for (let a = 0; a < ANGLES; a++) {
      const s = sinc(k * Math.cos((a * Math.PI) / ANGLES - angle))
      const d = values[r * ANGLES + a]!
      dd += d * d
      ds += d * s
      ss += s * s
    }
    sum += (rings[r]! / (1 + (1.4 * known * rings[r]!) ** 4)) * (dd - (ds * ds) / ss)
  }
  return sum
}

/**
 * The straight movement that, with some round blob of any profile, explains the transform best: F(k, φ) = P(k)·sinc(π L k
 * cos(φ − θ)). P is free on every ring and drops out in closed form, so a blob that is round by whatever cause (lens,
 * defocus, a disc's dark rings) gives length 0. Grid first, since the misfit has more than one valley, then descent.
 */
export function fitMovement(spectrum: Spectrum, longest: number): Stretch {
  let best = { cost: Number.POSITIVE_INFINITY, length: 0, angle: 0 }
  for (let length = 0.4; length < longest; length *= 1.25)
    for (let a = 0; a < 12; a++) {
      const angle = (a * Math.PI) / 12
      const cost = misfit(spectrum, length, angle, 0)
      if (cost < best.cost) best = { cost, length, angle }
    }
  const rough = descend(spectrum, stretchOf(best.length, best.angle), 0)
  return descend(spectrum, rough, lengthOf(rough))
}

const costAt = (spectrum: Spectrum, [p, c]: Stretch, known: number) =>
  misfit(spectrum, lengthOf([p, c]), Math.atan2(c, p) / 2, known)

/**
 * What `nearly` the same spectrums would have given instead of `line`, one Newton step each with the curvature of the whole:
 * for the leave-one-out errors.
 */
export function neighbours(spectrum: Spectrum, line: Stretch, nearly: readonly Spectrum[]): Stretch[] {
  const known = lengthOf(line)
  const h = 0.01 + 0.02 * Math.hypot(...line)
  const at = (s: Spectrum, i: number, j: number) => costAt(s, [line[0] + i * h, line[1] + j * h], known)
  const middle = at(spectrum, 0, 0)
  const xx = at(spectrum, 1, 0) + at(spectrum, -1, 0) - 2 * middle
  const yy = at(spectrum, 0, 1) + at(spectrum, 0, -1) - 2 * middle
  const xy = (at(spectrum, 1, 1) + at(spectrum, -1, -1) - at(spectrum, 1, -1) - at(spectrum, -1, 1)) / 4
  const det = xx * yy - xy * xy
  if (!(det > 0)) return nearly.map(() => [Number.POSITIVE_INFINITY, Number.POSITIVE_INFINITY] as const)
  return nearly.map((s) => {
    const gx = (at(s, 1, 0) - at(s, -1, 0)) / 2
    const gy = (at(s, 0, 1) - at(s, 0, -1)) / 2
    return [line[0] - (h * (yy * gx - xy * gy)) / det, line[1] - (h * (xx * gy - xy * gx)) / det] as const
  })
}

/** Descent from a start near the answer: a simplex of three (Nelder, Mead 1965), in L²/12 (cos 2θ, sin 2θ). */
function descend(spectrum: Spectrum, start: Stretch, known: number): Stretch {
  const cost = (at: Stretch) => costAt(spectrum, at, known)
  const step = 0.02 + 0.15 * Math.hypot(...start)
  const points = [start, [start[0] + step, start[1]], [start[0], start[1] + step]].map((at) => ({
    at: at as Stretch,
    cost: cost(at as Stretch),
  }))
  const toward = (t: number): { at: Stretch; cost: number } => {
    const [a, b, c] = points as [(typeof points)[0], (typeof points)[0], (typeof points)[0]]
    const mid = [(a.at[0] + b.at[0]) / 2, (a.at[1] + b.at[1]) / 2] as const
    const at: Stretch = [mid[0] + t * (c.at[0] - mid[0]), mid[1] + t * (c.at[1] - mid[1])]
    return { at, cost: cost(at) }
  }
  for (let i = 0; i < 60; i++) {
    points.sort((a, b) => a.cost - b.cost)
    const [a, b, c] = points as [(typeof points)[0], (typeof points)[0], (typeof points)[0]]
    if (Math.hypot(c.at[0] - a.at[0], c.at[1] - a.at[1]) < 1e-4 * (0.1 + Math.hypot(...a.at))) break
    const mirrored = toward(-1)
    if (mirrored.cost < a.cost) {
      const far = toward(-2)
      points[2] = far.cost < mirrored.cost ? far : mirrored
    } else if (mirrored.cost < b.cost) points[2] = mirrored
    else {
      const near = toward(mirrored.cost < c.cost ? -0.5 : 0.5)
      if (near.cost < Math.min(c.cost, mirrored.cost)) points[2] = near
      else
        for (const k of [1, 2]) {
          const at: Stretch = [(points[k]!.at[0] + a.at[0]) / 2, (points[k]!.at[1] + a.at[1]) / 2]
          points[k] = { at, cost: cost(at) }
        }
    }
  }
  points.sort((a, b) => a.cost - b.cost)
  return points[0]!.at
}
