import lookUpZone from '@photostructure/tz-lookup'
import { Failure } from '#core/base'

/** Degrees: latitude −90 to 90, north positive; longitude −180 to 180, east positive. */
export interface Place {
  readonly latitude: number
  readonly longitude: number
}

/** @throws Failure usage "latitude-out-of-range", "longitude-out-of-range" */
export function checkPlace(place: Place): Place {
  const { latitude, longitude } = place
  if (!(latitude >= -90 && latitude <= 90))
    throw new Failure('usage', 'latitude-out-of-range', { latitude: String(latitude) })
  if (!(longitude >= -180 && longitude <= 180))
    throw new Failure('usage', 'longitude-out-of-range', { longitude: String(longitude) })
  return place
}

/**
 * IANA name of the time zone of a place, from boundaries that come with the program: no network. On the high seas it is
 * a zone of whole hours. Along borders the boundaries are simplified; a site can state its zone itself.
 * @throws Failure usage "latitude-out-of-range", "longitude-out-of-range"
 */
export function timeZoneOf(place: Place): string {
  const { latitude, longitude } = checkPlace(place)
  return lookUpZone(latitude, longitude)
}
