import { Failure } from '#core/base'

/** How an aircraft hangs in the air, and what it looks at. */
export interface Hover {
  /** Sideways speed of the slow drift, m/s. */
  readonly driftMetresPerSecond: number
  /** Turning that the gimbal leaves, degrees a second. */
  readonly wanderDegreesPerSecond: number
  /** To what must be sharp. */
  readonly subjectMetres: number
  /** Focal length over pixel pitch. */
  readonly focalPixels: number
}

const radians = (degrees: number) => (degrees * Math.PI) / 180

/** @throws Failure usage "hover-fact" */
function check(hover: Hover): Hover {
  const facts = Object.entries(hover) as [keyof Hover, number][]
  for (const [fact, value] of facts) {
    const mayBeZero = fact === 'driftMetresPerSecond' || fact === 'wanderDegreesPerSecond'
    if (!(Number.isFinite(value) && (mayBeZero ? value >= 0 : value > 0)))
      throw new Failure('usage', 'hover-fact', { fact, found: String(value) })
  }
  return hover
}

/** Smear of a point by drift alone, pixels: v·t·F/D. */
export const driftPixels = (speed: number, seconds: number, distance: number, focalPixels: number): number =>
  (speed * seconds * focalPixels) / distance

/** Smear at the middle of the picture by turning alone, pixels: F·tan(ωt). */
export const turnPixels = (degreesPerSecond: number, seconds: number, focalPixels: number): number =>
  focalPixels * Math.tan(radians(Math.min(degreesPerSecond * seconds, 89)))

/**
 * Smear at the middle of the picture in the worst case, pixels: drift and turning in the same direction. Both are taken
 * as steady over the exposure, which holds for seconds; gusts are not in it.
 */
export function smearPixels(hover: Hover, seconds: number): number {
  const { driftMetresPerSecond: v, wanderDegreesPerSecond: w, subjectMetres, focalPixels } = check(hover)
  return driftPixels(v, seconds, subjectMetres, focalPixels) + turnPixels(w, seconds, focalPixels)
}

/** Longest time, seconds, that any exposure is asked about. */
const LONGEST = 3600

/** The longest shutter time whose smear stays within a budget in pixels, seconds; at most an hour. */
export function hoverLimitSeconds(hover: Hover, budgetPixels: number): number {
  if (!(budgetPixels > 0))
    throw new Failure('usage', 'hover-fact', { fact: 'budgetPixels', found: String(budgetPixels) })
  if (smearPixels(hover, LONGEST) <= budgetPixels) return LONGEST
  // Smear grows with time without a turn: halve until a part in a million.
  let [low, high] = [0, LONGEST]
  for (let i = 0; i < 60 && high - low > 1e-7 * high; i++) {
    const middle = (low + high) / 2
    if (smearPixels(hover, middle) <= budgetPixels) low = middle
    else high = middle
  }
  return low
}

/** Stars at the celestial equator, pixels: 15.041″ a second. */
export const starTrailPixels = (seconds: number, focalPixels: number): number =>
  focalPixels * Math.tan(radians((15.041 / 3600) * seconds))
