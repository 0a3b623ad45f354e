import { type Coordinates, wayBetween } from './geodesic.ts'
import { within } from './range.ts'

/** How good a satellite fix is in the open; the aircraft may say better. Common practice. */
export const FIX_ACCURACY_METRES = 5

export interface HomePointCheck {
  readonly distanceMetres: number
  readonly azimuthDegrees: number
  readonly accuracyMetres: number
  /** `at-take-off`: no farther apart than the fixes are good. `away-from-take-off`: the aircraft will come down elsewhere. */
  readonly found: 'at-take-off' | 'away-from-take-off'
  /** Whether the place to land is lit; null = not known. An unlit one is a caution, no more. */
  readonly lit: boolean | null
}

/** Is the home point, where the aircraft flies on its own, the place where it took off? Both places are fixes of the given accuracy. */
export function checkHomePoint(
  home: Coordinates,
  takeOff: Coordinates,
  lit: boolean | null = null,
  accuracyMetres = FIX_ACCURACY_METRES,
): HomePointCheck {
  within('accuracyMetres', accuracyMetres, 0, 1000)
  const way = wayBetween(takeOff, home)
  return {
    distanceMetres: way.distanceMetres,
    azimuthDegrees: way.azimuthDegrees,
    accuracyMetres,
    found: way.distanceMetres <= accuracyMetres ? 'at-take-off' : 'away-from-take-off',
    lit,
  }
}
