import fc from 'fast-check'
import type { Coordinates } from './geodesic.ts'
import { lensOf } from './lens.ts'

/** An invented camera: 9.6 × 7.2 mm, 4032 × 3024 pixels, 6.72 mm. */
export const lens = lensOf({
  sensorWidthMillimetres: 9.6,
  sensorHeightMillimetres: 7.2,
  widthPixels: 4032,
  heightPixels: 3024,
  focalLengthMillimetres: 6.72,
})

/** The lock of an invented river town. */
export const lock = { latitude: 50.1, longitude: 14.4 }

/** Evenly spread, ends included: fast-check's doubles are mostly next to nothing. */
const number = (min: number, max: number) =>
  fc.integer({ min: 0, max: 1_000_000 }).map((k) => min + ((max - min) * k) / 1_000_000)

export const anyPlace = fc.record({ latitude: number(-90, 90), longitude: number(-180, 180) })

export const anyView = fc.record({
  position: anyPlace,
  heightMetres: number(-50, 500),
  headingDegrees: number(-720, 720),
  tiltDegrees: number(-90, 90),
})

export { number as anyNumber }

/** True when no number anywhere in a value is NaN or infinite. */
export function allFinite(value: unknown): boolean {
  if (typeof value === 'number') return Number.isFinite(value)
  if (value === null || typeof value !== 'object') return true
  return Object.values(value).every(allFinite)
}

/** An invented small aircraft. */
export const aircraft = {
  ratedMinutes: 30,
  airspeedMetresPerSecond: 10,
  climbMetresPerSecond: 4,
  descentMetresPerSecond: 3,
  windLimitMetresPerSecond: 10,
}

/** A mild, still evening. */
export const calm = {
  temperatureCelsius: 20,
  wind: { speedMetresPerSecond: 0, gustMetresPerSecond: null, fromDegrees: 0, measuredAtMetres: 10 },
  terrain: 'open' as const,
}

/** An obstacle of a height, somewhere or nobody knows where. */
export const mast = (heightMetres: number, position: Coordinates | null, radiusMetres = 0) => ({
  name: `mast ${heightMetres}`,
  position,
  heightMetres,
  errorMetres: 0,
  radiusMetres,
  source: 'made up',
})
