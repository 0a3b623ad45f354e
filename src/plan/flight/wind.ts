import { angle, height, within } from './range.ts'

/** What the ground upwind is like. */
export type Terrain = 'water' | 'open' | 'suburb' | 'city'

export interface TerrainFacts {
  /** Exponent of the power law. */
  readonly exponent: number
  readonly source: string
}

/**
 * Exponents of the wind's power law by terrain: wind engineers' common practice. For neutral air; on a clear, calm night the lowest
 * hundred metres are often stable, and the true wind up there may be stronger than this.
 */
export const terrains: Readonly<Record<Terrain, TerrainFacts>> = {
  water: { exponent: 0.1, source: 'wind engineering, open water; common practice' },
  open: { exponent: 1 / 7, source: 'the one-seventh law for open ground; common practice' },
  suburb: { exponent: 0.25, source: 'wind engineering, suburbs and woods; common practice' },
  city: { exponent: 0.35, source: 'wind engineering, dense town; common practice' },
}

/** Wind as a forecast gives it: mean and gust at a height (10 m unless said otherwise). Unknown facts are null. */
export interface Wind {
  readonly speedMetresPerSecond: number
  readonly gustMetresPerSecond: number | null
  /** Where it comes from; null = not known, and then it is always taken as a headwind. */
  readonly fromDegrees: number | null
  readonly measuredAtMetres: number
}

export interface WindAloft {
  readonly speedMetresPerSecond: number
  readonly gustMetresPerSecond: number | null
  readonly fromDegrees: number | null
}

/** Below this height over ground the power law is not used further down: there is still some wind at the ground. */
const LOWEST_METRES = 1

/**
 * Wind at a height: v(z) = v(ref)·(z/ref)^exponent. The gust adds to the mean up there what it adds at the ground, because the spread
 * of turbulence hardly changes with height near the ground (Panofsky, Dutton 1984, from memory).
 */
export function windAt(wind: Wind, terrain: Terrain, heightMetres: number): WindAloft {
  const mean = within('windMetresPerSecond', wind.speedMetresPerSecond, 0, 120)
  const reference = within('windMeasuredAtMetres', wind.measuredAtMetres, LOWEST_METRES, 1000)
  const gust = wind.gustMetresPerSecond
  if (gust !== null) within('gustMetresPerSecond', gust, 0, 150)
  if (wind.fromDegrees !== null) angle('windFromDegrees', wind.fromDegrees)
  const over = Math.max(height('heightMetres', heightMetres), LOWEST_METRES)
  const speedMetresPerSecond = mean * (over / reference) ** terrains[terrain].exponent
  return {
    speedMetresPerSecond,
    // A forecast's gust below its own mean wind is a slip of the pen; the mean counts.
    gustMetresPerSecond: gust === null ? null : speedMetresPerSecond + Math.max(gust - mean, 0),
    fromDegrees: wind.fromDegrees,
  }
}

/** Wind against a course over ground, in m/s: `head` slows down (negative: a tailwind), `cross` pushes aside (never negative). */
export function windAlong(wind: WindAloft, courseDegrees: number): { readonly head: number; readonly cross: number } {
  const speed = wind.speedMetresPerSecond
  if (wind.fromDegrees === null) return { head: speed, cross: 0 }
  const between = ((wind.fromDegrees - courseDegrees) * Math.PI) / 180
  return { head: speed * Math.cos(between), cross: Math.abs(speed * Math.sin(between)) }
}

/**
 * Speed over ground on a course at an airspeed, in m/s: √(a² − cross²) − head (the wind triangle), null when the aircraft cannot hold
 * the course or make way. A tailwind is not counted on: never faster than in still air.
 */
export function groundSpeed(airspeedMetresPerSecond: number, wind: WindAloft, courseDegrees: number): number | null {
  const { head, cross } = windAlong(wind, courseDegrees)
  if (!(cross < airspeedMetresPerSecond)) return null
  const speed = Math.sqrt(airspeedMetresPerSecond ** 2 - cross ** 2) - head
  // Below a crawl the way home takes longer than any battery lasts.
  return speed > 0.01 ? Math.min(speed, airspeedMetresPerSecond) : null
}
