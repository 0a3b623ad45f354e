const radians = (degrees: number) => (degrees * Math.PI) / 180

/** Bennett 1982 (Meeus, ch. 16): refraction in arcminutes at an apparent altitude in degrees, sea level, mild air. */
export const refractionAtApparent = (altitude: number): number =>
  1 / Math.tan(radians(altitude + 7.31 / (altitude + 4.4)))

/** Sæmundsson 1986 (Meeus, ch. 16): refraction in arcminutes at a true altitude in degrees. */
export const refractionAtTrue = (altitude: number): number =>
  1.02 / Math.tan(radians(altitude + 10.3 / (altitude + 5.11)))

/** NOAA's solar calculator: refraction in arcminutes at a true altitude in degrees, pieces by altitude. */
export function refractionNoaa(altitude: number): number {
  if (altitude > 85) return 0
  const t = Math.tan(radians(altitude))
  if (altitude > 5) return (58.1 / t - 0.07 / t ** 3 + 0.000_086 / t ** 5) / 60
  if (altitude > -0.575)
    return (1735 + altitude * (-518.2 + altitude * (103.4 + altitude * (-12.79 + altitude * 0.711)))) / 60
  return -20.774 / t / 60
}

/** The refraction of the Circular 171 programs (Janiczek, DeYoung 1987): degrees, true altitude, none below −5/6°. */
const circularRefraction = (altitude: number): number =>
  altitude < -5 / 6 ? 0 : 1 / (60 * Math.tan(radians(altitude + 8.6 / (altitude + 4.42))))

/** From here up the whole of the refraction counts; from the sunset altitude down, none of it. */
const FULL_FROM = 1.5
const NONE_FROM = -5 / 6

/**
 * Altitude as the models of light take it: through the air while a body is up, without it once it has set. The programs
 * of the Circular switch at −5/6°, where the light would jump by a quarter; here the refraction goes over smoothly, so that
 * light falls without a step and is at sunset what glossaries print (410 to 585 lux).
 */
export function apparentAltitude(altitude: number): number {
  const share = Math.min(1, Math.max(0, (altitude - NONE_FROM) / (FULL_FROM - NONE_FROM)))
  return altitude + circularRefraction(altitude) * share * share * (3 - 2 * share)
}

const EARTH_RADIUS_METRES = 6_371_008.8

/**
 * How far the horizon drops below level for an eye at a height over flat ground or sea, degrees: by geometry alone, or
 * with the usual bending of light along the ground (1.76′ √metres, navigators' tables).
 */
export function horizonDip(heightMetres: number, withRefraction = true): number {
  const height = Math.max(0, heightMetres)
  if (withRefraction) return (1.76 * Math.sqrt(height)) / 60
  return (Math.acos(EARTH_RADIUS_METRES / (EARTH_RADIUS_METRES + height)) * 180) / Math.PI
}
