import { type AstroTime, Body, Equator, Horizon, Illumination, MakeTime, MoonPhase, Observer } from 'astronomy-engine'
import type { Instant } from './clock.ts'
import type { Place } from './place.ts'

/** Degrees; altitude of the centre as it stands, without the air's refraction; azimuth from north through east. */
export interface Direction {
  readonly altitude: number
  readonly azimuth: number
}

export interface MoonState extends Direction {
  /** Share of the disc that is lit, 0 to 1. */
  readonly fraction: number
  /** Degrees between moon and sun as seen from the earth, 0 new to 180 full. */
  readonly elongation: number
  /** Ecliptic longitude of the moon less the sun's, 0 to 360: 90 is the first quarter. */
  readonly phaseLongitude: number
  /** Horizontal parallax, degrees. */
  readonly parallax: number
  /** From the observer, km. */
  readonly distanceKilometres: number
}

const EARTH_RADIUS_KM = 6378.137
const KM_PER_AU = 149_597_870.691

/**
 * The site stands at sea level whatever its height: the library lowers refraction with height, and the height of the
 * aircraft is not the height of the ground. A high point of view sees farther: see dip.ts.
 */
export const observerAt = ({ latitude, longitude }: Place): Observer => new Observer(latitude, longitude, 0)

export const astroTime = (at: Instant): AstroTime => MakeTime(new Date(at))

function directionOf(body: Body, time: AstroTime, observer: Observer) {
  const place = Equator(body, time, observer, true, true)
  const { altitude, azimuth } = Horizon(time, observer, place.ra, place.dec)
  return { altitude, azimuth, distanceAu: place.dist }
}

/** The sun, topocentric. Ephemeris: astronomy-engine, a minute of arc or better. */
export function sunAt(place: Place, at: Instant): Direction {
  const { altitude, azimuth } = directionOf(Body.Sun, astroTime(at), observerAt(place))
  return { altitude, azimuth }
}

/** The moon, topocentric, with its phase. */
export function moonAt(place: Place, at: Instant): MoonState {
  const time = astroTime(at)
  const { altitude, azimuth, distanceAu } = directionOf(Body.Moon, time, observerAt(place))
  const lit = Illumination(Body.Moon, time)
  return {
    altitude,
    azimuth,
    fraction: lit.phase_fraction,
    elongation: 180 - lit.phase_angle,
    phaseLongitude: MoonPhase(time),
    parallax: (Math.asin(EARTH_RADIUS_KM / (lit.geo_dist * KM_PER_AU)) * 180) / Math.PI,
    distanceKilometres: distanceAu * KM_PER_AU,
  }
}

/** Names of the moon's eight phases, 45° each. */
const phases = [
  'new',
  'waxing crescent',
  'first quarter',
  'waxing gibbous',
  'full',
  'waning gibbous',
  'last quarter',
  'waning crescent',
] as const

export const phaseName = (phaseLongitude: number): string => phases[Math.round(phaseLongitude / 45) % 8]!
