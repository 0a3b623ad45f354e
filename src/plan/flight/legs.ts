import type { Aircraft, Conditions } from './battery.ts'
import { type Coordinates, wayBetween } from './geodesic.ts'
import { height, within } from './range.ts'
import { groundSpeed, windAt } from './wind.ts'

/** A spot in the air: height in metres above take-off. */
export interface Spot {
  readonly position: Coordinates
  readonly heightMetres: number
}

export interface Leg {
  readonly distanceMetres: number
  readonly courseDegrees: number
  /** The level part is flown at this height. */
  readonly cruiseHeightMetres: number
  readonly minutes: number
}

/** Time to put the aircraft down by hand in the dark, minutes; common practice has no figure, so this is an assumption. */
export const LANDING_MINUTES = 1

/**
 * Straight up, level, straight down: first to the higher of both heights (and of `atLeastMetres`), then across, then down. So a leg is never
 * lower than its higher end. Null when the wind does not let the aircraft make way.
 */
export function legBetween(
  from: Spot,
  to: Spot,
  aircraft: Aircraft,
  conditions: Conditions,
  atLeastMetres = Number.NEGATIVE_INFINITY,
): Leg | null {
  height('heightMetres', from.heightMetres)
  height('heightMetres', to.heightMetres)
  const way = wayBetween(from.position, to.position)
  if (Number.isFinite(atLeastMetres)) height('atLeastMetres', atLeastMetres)
  const cruise = Math.max(from.heightMetres, to.heightMetres, atLeastMetres)
  const wind = windAt(conditions.wind, conditions.terrain, cruise)
  const speed = groundSpeed(aircraft.airspeedMetresPerSecond, wind, way.azimuthDegrees)
  if (speed === null && way.distanceMetres > 0) return null
  const across = way.distanceMetres === 0 ? 0 : way.distanceMetres / speed!
  const seconds =
    (cruise - from.heightMetres) / aircraft.climbMetresPerSecond +
    across +
    (cruise - to.heightMetres) / aircraft.descentMetresPerSecond
  return {
    distanceMetres: way.distanceMetres,
    courseDegrees: way.azimuthDegrees,
    cruiseHeightMetres: cruise,
    minutes: seconds / 60,
  }
}

/** The way home: up to the return height if lower, straight over home, down, and the landing itself. */
export function legHome(
  from: Spot,
  home: Coordinates,
  returnHeightMetres: number,
  aircraft: Aircraft,
  conditions: Conditions,
  landingMinutes = LANDING_MINUTES,
): Leg | null {
  height('returnHeightMetres', returnHeightMetres)
  within('landingMinutes', landingMinutes, 0, 60)
  const leg = legBetween(from, { position: home, heightMetres: 0 }, aircraft, conditions, returnHeightMetres)
  return leg && { ...leg, minutes: leg.minutes + landingMinutes }
}
