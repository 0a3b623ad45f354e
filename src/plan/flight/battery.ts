import { within } from './range.ts'
import { type Terrain, type Wind, windAt } from './wind.ts'

/** What the aircraft can do. Speeds are through the air, in m/s; the rated minutes are the maker's, at about 20 °C in still air. */
export interface Aircraft {
  readonly ratedMinutes: number
  /** At which the aircraft flies between viewpoints and home. */
  readonly airspeedMetresPerSecond: number
  readonly climbMetresPerSecond: number
  readonly descentMetresPerSecond: number
  /** The maker's limit for the wind; null = not known. */
  readonly windLimitMetresPerSecond: number | null
}

export interface Conditions {
  readonly temperatureCelsius: number
  readonly wind: Wind
  readonly terrain: Terrain
}

/**
 * Flying time against temperature: pairs of °C and the share of the time on a mild day. "Below freezing plan 60 to 70 % of mild-weather
 * time" (a battery maker's procedure of 2026; other pages say 20 to 50 % is lost): common practice, no measured source. Between
 * the pairs a straight line; above 20 °C no gain.
 */
export const temperatureCurve: readonly (readonly [celsius: number, factor: number])[] = [
  [-20, 0.5],
  [-10, 0.6],
  [0, 0.7],
  [10, 0.9],
  [20, 1],
]

/**
 * What holding against a wind as strong as the aircraft's airspeed costs: 30 % of the time; less wind costs by the square, as drag does.
 * An assumption: no published curve was found ("leave a margin for wind", common practice).
 */
export const WIND_COST = 0.3

/** Kept in the battery: 20 % is the usual base (pilots' study guides, common practice). */
export const DEFAULT_RESERVE = 0.2

/** Share of the mild-weather time; null below −20 °C, where the curve says nothing. */
export function temperatureFactor(celsius: number): number | null {
  within('temperatureCelsius', celsius, -90, 70)
  const [coldest] = temperatureCurve
  if (celsius < coldest![0]) return null
  for (let i = 1; i < temperatureCurve.length; i++) {
    const [t0, f0] = temperatureCurve[i - 1]!
    const [t1, f1] = temperatureCurve[i]!
    if (celsius < t1) return f0 + ((f1 - f0) * (celsius - t0)) / (t1 - t0)
  }
  return 1
}

/** 1 − 0.3·(wind/airspeed)²; null when the wind is as fast as the aircraft or faster. */
export function windFactor(windMetresPerSecond: number, airspeedMetresPerSecond: number): number | null {
  if (!(windMetresPerSecond < airspeedMetresPerSecond)) return null
  return 1 - WIND_COST * (windMetresPerSecond / airspeedMetresPerSecond) ** 2
}

/** Why there are no minutes to fly, or no way home. */
export type NoStay = 'wind-over-airspeed' | 'colder-than-curve' | 'reserve-eaten' | 'no-way-against-wind'

export interface UsableMinutes {
  readonly minutes: number
  readonly ratedMinutes: number
  readonly temperatureFactor: number
  readonly windFactor: number
  readonly reserve: number
}

export type Usable = ({ readonly can: true } & UsableMinutes) | { readonly can: false; readonly why: NoStay }

/**
 * Minutes of one battery between take-off and landing: rated × temperature × wind × (1 − reserve), with the wind at the greatest height of
 * the flight. Minutes of hovering and of flying are taken to cost the same; rated times are often measured in gentle forward
 * flight, and a hover may last a tenth less.
 */
export function usableMinutes(
  aircraft: Aircraft,
  conditions: Conditions,
  heightMetres: number,
  reserve = DEFAULT_RESERVE,
): Usable {
  checkAircraft(aircraft)
  within('reserve', reserve, 0, 1)
  const wind = windAt(conditions.wind, conditions.terrain, heightMetres).speedMetresPerSecond
  const cold = temperatureFactor(conditions.temperatureCelsius)
  const held = windFactor(wind, aircraft.airspeedMetresPerSecond)
  if (held === null) return { can: false, why: 'wind-over-airspeed' }
  if (cold === null) return { can: false, why: 'colder-than-curve' }
  const minutes = aircraft.ratedMinutes * cold * held * (1 - reserve)
  if (!(minutes > 0)) return { can: false, why: 'reserve-eaten' }
  return { can: true, minutes, ratedMinutes: aircraft.ratedMinutes, temperatureFactor: cold, windFactor: held, reserve }
}

export function checkAircraft(aircraft: Aircraft): Aircraft {
  within('ratedMinutes', aircraft.ratedMinutes, 0.1, 1000)
  within('airspeedMetresPerSecond', aircraft.airspeedMetresPerSecond, 0.5, 100)
  within('climbMetresPerSecond', aircraft.climbMetresPerSecond, 0.1, 50)
  within('descentMetresPerSecond', aircraft.descentMetresPerSecond, 0.1, 50)
  if (aircraft.windLimitMetresPerSecond !== null)
    within('windLimitMetresPerSecond', aircraft.windLimitMetresPerSecond, 0, 100)
  return aircraft
}
