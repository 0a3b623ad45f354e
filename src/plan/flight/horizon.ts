import { within } from './range.ts'

/** Mean radius of the earth (IUGG R1), metres. */
export const EARTH_RADIUS_METRES = 6_371_008.8

/**
 * How far the sea's horizon lies below level, in degrees, from a height over it: acos(R/(R + h)), without air. From 120 m:
 * 21.10′. Closed form of the sphere; computed by 2·atan(√(h/(2R + h))), which keeps its digits for small heights.
 */
export function horizonDipDegrees(heightMetres: number): number {
  within('heightMetres', heightMetres, 0, 1e5)
  return (360 / Math.PI) * Math.atan(Math.sqrt(heightMetres / (2 * EARTH_RADIUS_METRES + heightMetres)))
}

/** The same as seen through ordinary air: 1.76′·√h (navigators' rule, common practice). From 120 m: 19.28′. */
export function horizonDipSeenDegrees(heightMetres: number): number {
  return (1.76 * Math.sqrt(within('heightMetres', heightMetres, 0, 1e5))) / 60
}
