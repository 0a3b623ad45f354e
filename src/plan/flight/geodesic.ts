import geographiclib from 'geographiclib-geodesic'
import { Failure } from '#core/base'
import { within } from './range.ts'

/**
 * Lines over the WGS84 ellipsoid, by Karney 2013 ("Algorithms for geodesics") as its author's library has them: errors
 * of nanometres, also near the antipode where the older iteration fails. A sphere would be 0.5 % off (docs/science/flight.md).
 */
const { Geodesic } = geographiclib
const wgs84 = Geodesic.WGS84

/** Degrees on WGS84: latitude −90 to 90 north, longitude −180 to 180 east. */
export interface Coordinates {
  readonly latitude: number
  readonly longitude: number
}

/** The way from one place to another: metres along the ground's ellipsoid; azimuths 0 to 360° from north through east. */
export interface Way {
  readonly distanceMetres: number
  readonly azimuthDegrees: number
  /** The direction in which the line goes on beyond its end. */
  readonly arrivalAzimuthDegrees: number
}

/** East and north of an origin, in metres. */
export interface Offset {
  readonly eastMetres: number
  readonly northMetres: number
}

/** An angle as 0 (included) to 360° (not included). */
export function turn(degrees: number): number {
  const rest = degrees % 360
  const positive = rest < 0 ? rest + 360 : rest
  // A tiny negative angle rounds up to a whole turn; adding 0 makes −0 a plain 0.
  return positive >= 360 ? 0 : positive + 0
}

/** The smaller angle between two directions, 0 to 180°. */
export function angleBetween(a: number, b: number): number {
  const apart = turn(a - b)
  return apart > 180 ? 360 - apart : apart
}

/** The same coordinates; `latitude-out-of-range` or `longitude-out-of-range` (usage) when they are none. */
export function checkCoordinates(place: Coordinates): Coordinates {
  const { latitude, longitude } = place
  if (!(Math.abs(latitude) <= 90)) throw new Failure('usage', 'latitude-out-of-range', { latitude })
  if (!(Math.abs(longitude) <= 180)) throw new Failure('usage', 'longitude-out-of-range', { longitude })
  return place
}

/** Distance and azimuths of the shortest line. Between the same two points the azimuth means nothing and is 0 or 180. */
export function wayBetween(from: Coordinates, to: Coordinates): Way {
  checkCoordinates(from)
  checkCoordinates(to)
  const line = wgs84.Inverse(from.latitude, from.longitude, to.latitude, to.longitude)
  return {
    distanceMetres: line.s12!,
    azimuthDegrees: turn(line.azi1!),
    arrivalAzimuthDegrees: turn(line.azi2!),
  }
}

/** Where one comes out after `distanceMetres` (to half the earth's girth) in a starting direction. */
export function placeAt(from: Coordinates, azimuthDegrees: number, distanceMetres: number): Coordinates {
  checkCoordinates(from)
  within('azimuthDegrees', azimuthDegrees, -1e6, 1e6)
  within('distanceMetres', distanceMetres, 0, 2.1e7)
  const line = wgs84.Direct(from.latitude, from.longitude, azimuthDegrees, distanceMetres)
  return { latitude: line.lat2!, longitude: line.lon2! }
}

/** The point of the line from one place to another that is `distanceMetres` from its start. */
export function placeAlong(from: Coordinates, to: Coordinates, distanceMetres: number): Coordinates {
  return placeAt(from, wayBetween(from, to).azimuthDegrees, distanceMetres)
}

/**
 * A place as metres east and north of an origin: true distance and direction from there (azimuthal equidistant). Between two
 * such places distances are right to 2 parts in a million within 20 km.
 */
export function offsetOf(origin: Coordinates, place: Coordinates): Offset {
  const way = wayBetween(origin, place)
  const azimuth = (way.azimuthDegrees * Math.PI) / 180
  return { eastMetres: way.distanceMetres * Math.sin(azimuth), northMetres: way.distanceMetres * Math.cos(azimuth) }
}

/** The place at an offset: the inverse of `offsetOf`. */
export function placeAtOffset(origin: Coordinates, offset: Offset): Coordinates {
  const { eastMetres, northMetres } = offset
  const azimuth = (Math.atan2(eastMetres, northMetres) * 180) / Math.PI
  return placeAt(origin, azimuth, Math.hypot(eastMetres, northMetres))
}
