import type { Orientation } from '#core/pixels'
import { type EdgePicture, followUprights, transposed, type UprightEdge } from './follow-uprights.ts'

/**
 * How the camera stood turned about its view, in degrees: positive when its right side was low, so that the picture has to be
 * turned clockwise by as much to stand level. The picture itself is believed before the gimbal, whose own level is known to
 * be off by tenths of a degree and to change with heading.
 */
export interface Tilt {
  readonly degrees: number
  readonly basis: 'verticals' | 'horizon' | 'gimbal'
  /** Standard error; null for the gimbal, which states none. */
  readonly errorDegrees: number | null
  /** The gimbal's own word, beside what the picture says. */
  readonly gimbalDegrees: number | null
}

const DEGREE = Math.PI / 180
/** The largest tilt looked for in the picture; more is meant. */
const MOST = Math.tan(10 * DEGREE)
/** Lines farther than this from upright are none, even where they converge. */
const STEEPEST = Math.tan(25 * DEGREE)
/** An edge belongs to the verticals when it leaves the common law by less than this and twice its own error. */
const NEAR = Math.tan(0.35 * DEGREE)
/** Walls, masts and posts stand plumb to about this. */
const PLUMB = Math.tan(0.15 * DEGREE)
const FEWEST = 6
/** Share of the near-upright length that has to obey one law. */
const AGREE = 0.35
/** The largest standard error that is still told. */
const SURE_DEGREES = 0.15
const PAIRS = 36

interface Law {
  /** slope = lean − meet·at: lean is tan(tilt); meet is where verticals run together, 1 / (distance from the centre). */
  readonly lean: number
  readonly meet: number
}

const missOf = (e: UprightEdge, { lean, meet }: Law) => Math.abs(e.slope - lean + meet * e.at)

/**
 * Tilt from edges of verticals. The vertical's vanishing point stands below or above the picture's centre, along the
 * vertical through the camera's axis (Hartley, Zisserman 2004, section 8.6): straight down for a level camera,
 * otherwise turned by the tilt. An upright edge that crosses the middle row at `at` therefore has the slope
 * lean − meet·at. Both are found by trial on pairs of edges, then by weighted least squares.
 */
export function tiltFromUprights(edges: readonly UprightEdge[]): { degrees: number; errorDegrees: number } | null {
  const near = edges
    .filter((e) => Math.abs(e.slope) <= STEEPEST)
    .sort((a, b) => b.rows - a.rows)
    .slice(0, 200)
  if (near.length < FEWEST) return null
  const start = bestLaw(near)
  if (!start) return null
  let law = start.law
  let error = Number.POSITIVE_INFINITY
  for (let pass = 0; pass < 8; pass++) {
    const fit = fitLaw(near, law)
    if (!fit) return null
    law = fit.law
    error = fit.error
  }
  const total = near.reduce((s, e) => s + e.rows, 0)
  const inside = near.filter((e) => missOf(e, law) < NEAR + 2 * e.slopeError)
  const length = inside.reduce((s, e) => s + e.rows, 0)
  if (inside.length < FEWEST || length < AGREE * total || Math.abs(law.lean) > MOST) return null
  const errorDegrees = error / DEGREE
  return errorDegrees <= SURE_DEGREES ? { degrees: Math.atan(law.lean) / DEGREE, errorDegrees } : null
}

/** The law of two edges, or of one with no convergence, that most of the length obeys. */
function bestLaw(edges: readonly UprightEdge[]): { readonly law: Law } | null {
  const leading = edges.slice(0, PAIRS)
  let best: { law: Law; score: number } | null = null
  const width = Math.max(...edges.map((e) => Math.abs(e.at)))
  const consider = (law: Law) => {
    if (Math.abs(law.lean) > MOST || Math.abs(law.meet) * width > STEEPEST) return
    let score = 0
    for (const e of edges) if (missOf(e, law) < NEAR + 2 * e.slopeError) score += e.rows
    if (!best || score > best.score) best = { law, score }
  }
  leading.forEach((a, i) => {
    consider({ lean: a.slope, meet: 0 })
    for (const b of leading.slice(i + 1)) {
      if (Math.abs(a.at - b.at) < 0.1 * width) continue
      const meet = (a.slope - b.slope) / (b.at - a.at)
      consider({ lean: a.slope + meet * a.at, meet })
    }
  })
  return best
}

/** One step of reweighted least squares (Cauchy), with the standard error of the lean as the scatter has it. */
function fitLaw(edges: readonly UprightEdge[], law: Law): { law: Law; error: number } | null {
  let [w, x, y, xx, xy, chi, n] = [0, 0, 0, 0, 0, 0, 0]
  for (const e of edges) {
    const variance = e.slopeError ** 2 + PLUMB ** 2
    const z = missOf(e, law) ** 2 / variance
    if (z > 16) continue
    const weight = 1 / (variance * (1 + z / 4))
    w += weight
    x += weight * e.at
    y += weight * e.slope
    xx += weight * e.at * e.at
    xy += weight * e.at * e.slope
    chi += z
    n++
  }
  const spread = xx - (x * x) / w
  if (n < FEWEST || !(spread > 0)) return null
  const meet = -(xy - (x * y) / w) / spread
  const lean = (y + meet * x) / w
  const scatter = Math.max(1, chi / Math.max(n - 2, 1))
  return { law: { lean, meet }, error: Math.sqrt(scatter * (1 / w + (x / w) ** 2 / spread)) }
}

/** The share of the picture's width that an edge has to span before it is taken for the horizon. */
const HORIZON_SPAN = 0.55
/** Edges above it may have at most this share of the length of those below: what lies above a horizon is sky. */
const SKY_LENGTH = 0.15

/**
 * Tilt from the horizon: one straight line across most of the picture with next to nothing above it. `edges` are those of
 * the picture with rows and columns exchanged.
 */
export function tiltFromHorizon(
  edges: readonly UprightEdge[],
  columns: number,
): { degrees: number; errorDegrees: number } | null {
  const flat = edges.filter((e) => Math.abs(e.slope) <= MOST).sort((a, b) => b.rows - a.rows)
  for (const seed of flat.slice(0, 8)) {
    const own = flat.filter((e) => {
      const middle = e.from + e.rows / 2 - columns / 2
      const apart = Math.abs(e.at + e.slope * middle - seed.at - seed.slope * middle)
      return apart < 1.5 && Math.abs(e.slope - seed.slope) < NEAR + 2 * e.slopeError
    })
    const span = own.reduce((s, e) => s + e.rows, 0)
    if (span < HORIZON_SPAN * columns) continue
    const length = (list: readonly UprightEdge[]) => list.reduce((s, e) => s + e.rows, 0)
    const others = edges.filter((e) => !own.includes(e))
    const above = length(others.filter((e) => e.at < seed.at - 3))
    if (above > SKY_LENGTH * Math.max(length(others), span)) continue
    const w = own.reduce((s, e) => s + 1 / e.slopeError ** 2, 0)
    const slope = own.reduce((s, e) => s + e.slope / e.slopeError ** 2, 0) / w
    const scatter = own.reduce((s, e) => s + ((e.slope - slope) / e.slopeError) ** 2, 0) / Math.max(own.length - 1, 1)
    const errorDegrees = Math.sqrt(Math.max(1, scatter) / w) / DEGREE
    // A horizon that rises to the right is a low right side of the camera.
    if (errorDegrees <= SURE_DEGREES) return { degrees: -Math.atan(slope) / DEGREE, errorDegrees }
  }
  return null
}

/** A gimbal's roll as tilt: cameras that hang on their side state a quarter turn more. */
const gimbalTilt = (roll: number) => roll - 90 * Math.round(roll / 90)

/**
 * Tilt of a picture as it is to be shown. `least` is the gradient that counts as an edge (see `followUprights`); `gimbalRoll` is
 * the file's, degrees, or null. Null when neither the picture nor the file can tell.
 */
export function tiltOf(
  picture: EdgePicture | null,
  least: number,
  orientation: Orientation,
  gimbalRoll: number | null,
): Tilt | null {
  const gimbalDegrees = gimbalRoll === null ? null : gimbalTilt(gimbalRoll)
  if (picture) {
    const lying = orientation >= 5
    // Slopes as shown: Exif orientations 3 and 5 to 8 turn or mirror what is stored; each changes the sign or does not.
    const sign = orientation === 1 || orientation === 3 || orientation === 5 || orientation === 7 ? 1 : -1
    const shown = lying ? transposed(picture) : picture
    const upright = tiltFromUprights(followUprights(shown, least))
    if (upright) return { ...upright, degrees: sign * upright.degrees, basis: 'verticals', gimbalDegrees }
    const turned = transposed(shown)
    // Which side is up matters for the horizon only; a picture stored upside down is left to its verticals.
    const horizon = orientation === 1 ? tiltFromHorizon(followUprights(turned, least), turned.height) : null
    if (horizon) return { ...horizon, basis: 'horizon', gimbalDegrees }
  }
  return gimbalDegrees === null ? null : { degrees: gimbalDegrees, basis: 'gimbal', errorDegrees: null, gimbalDegrees }
}
