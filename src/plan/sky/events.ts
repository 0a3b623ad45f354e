import { Body, SearchAltitude, SearchRiseSet } from 'astronomy-engine'
import { astroTime, moonAt, observerAt, sunAt } from './bodies.ts'
import { type CivilDate, DAY, type Instant, MINUTE, noonOf } from './clock.ts'
import { checkPlace, type Place } from './place.ts'

/** Why something does not happen in the 24 hours from local noon. */
export type Never =
  | 'sun-stays-above'
  | 'sun-stays-below'
  | 'moon-stays-above'
  | 'moon-stays-below'
  | 'not-in-these-hours'
  | 'no-sunset'

export interface SkyEvent {
  readonly name: EventName
  readonly at: Instant | null
  readonly never: Never | null
  /** Of the sun's centre, without air, at that moment; where it never happens, the altitude it comes nearest with. */
  readonly sunAltitude: number | null
}

export type EventName =
  | 'sunset'
  | 'civil-dusk'
  | 'civil-dusk-30min'
  | 'nautical-dusk'
  | 'astronomical-dusk'
  | 'astronomical-dawn'
  | 'nautical-dawn'
  | 'civil-dawn'
  | 'sunrise'
  | 'moonrise'
  | 'moonset'

type Crossing = 'rise-set' | number

/** Altitudes in degrees: twilight is the sun's centre without air; rise and set are the upper limb through 34′ of air. */
const wanted: readonly (readonly [EventName, 'sun' | 'moon', 1 | -1, Crossing])[] = [
  ['sunset', 'sun', -1, 'rise-set'],
  ['civil-dusk', 'sun', -1, -6],
  ['nautical-dusk', 'sun', -1, -12],
  ['astronomical-dusk', 'sun', -1, -18],
  ['astronomical-dawn', 'sun', 1, -18],
  ['nautical-dawn', 'sun', 1, -12],
  ['civil-dawn', 'sun', 1, -6],
  ['sunrise', 'sun', 1, 'rise-set'],
  ['moonrise', 'moon', 1, 'rise-set'],
  ['moonset', 'moon', -1, 'rise-set'],
]

/** The rule that some laws use for civil twilight: a fixed time after sunset (for example 14 CFR 107.29). */
const FIXED_TWILIGHT = 30 * MINUTE
/** Sun's upper limb on the horizon: 34′ of refraction and 16′ of semidiameter (USNO's definitions). */
const RISE_SET_ALTITUDE = -50 / 60

/**
 * The evening and the night after it: the first crossing of each kind at or after `from`, within 24 hours, over a level
 * horizon at sea level. What does not happen says why. `eyeMetres`: for rise and set as an eye that high over flat ground
 * sees them, the dip of the horizon included; twilight is a matter of the air above and does not change.
 */
export function eventsFrom(place: Place, from: Instant, eyeMetres = 0): SkyEvent[] {
  checkPlace(place)
  const course = courseOf(place, from)
  const events = wanted.map(([name, body, direction, crossing]): SkyEvent => {
    const at = crossingAt(place, from, body, direction, crossing, eyeMetres)
    if (at !== null) return { name, at, never: null, sunAltitude: sunAt(place, at).altitude }
    const never = whyNever(course, body, crossing === 'rise-set' ? RISE_SET_ALTITUDE : crossing)
    return { name, at: null, never, sunAltitude: body === 'sun' ? nearest(course.sun, never) : null }
  })
  const sunset = events[0]!
  const at = sunset.at === null ? null : sunset.at + FIXED_TWILIGHT
  events.splice(2, 0, {
    name: 'civil-dusk-30min',
    at,
    never: at === null ? 'no-sunset' : null,
    sunAltitude: at === null ? null : sunAt(place, at).altitude,
  })
  return events
}

/** The evening of a civil date: from its local noon on. */
export const eveningEvents = (place: Place, date: CivilDate, zone: string): SkyEvent[] =>
  eventsFrom(place, noonOf(date, zone))

function crossingAt(
  place: Place,
  from: Instant,
  body: 'sun' | 'moon',
  direction: 1 | -1,
  crossing: Crossing,
  eyeMetres: number,
): Instant | null {
  const [which, observer, start] = [body === 'sun' ? Body.Sun : Body.Moon, observerAt(place), astroTime(from)]
  const found =
    crossing === 'rise-set'
      ? SearchRiseSet(which, observer, direction, start, 1, eyeMetres)
      : SearchAltitude(which, observer, direction, start, 1, crossing)
  if (!found) return null
  const at = found.date.getTime()
  return at >= from && at < from + DAY ? at : null
}

interface Course {
  readonly sun: { readonly low: number; readonly high: number }
  readonly moon: { readonly low: number; readonly high: number }
}

/** Lowest and highest altitudes in the 24 hours, from a look every half hour: enough to say which side a body stays on. */
function courseOf(place: Place, from: Instant): Course {
  const extremes = (altitudeAt: (at: Instant) => number) => {
    const altitudes = Array.from({ length: 49 }, (_, i) => altitudeAt(from + i * 30 * MINUTE))
    return { low: Math.min(...altitudes), high: Math.max(...altitudes) }
  }
  // Worked out only when asked: most evenings have all their events.
  let sun: Course['sun'] | null = null
  let moon: Course['moon'] | null = null
  return {
    get sun() {
      sun ??= extremes((at) => sunAt(place, at).altitude)
      return sun
    },
    get moon() {
      moon ??= extremes((at) => moonAt(place, at).altitude)
      return moon
    },
  }
}

function whyNever(course: Course, body: 'sun' | 'moon', altitude: number): Never {
  const { low, high } = course[body]
  // The moon's limb and parallax shift its rise by up to a third of a degree; a body between is a matter of the window.
  const slack = body === 'moon' ? 0.6 : 0.05
  if (low > altitude - slack && high > altitude + slack) return `${body}-stays-above`
  if (high < altitude + slack) return `${body}-stays-below`
  return 'not-in-these-hours'
}

const nearest = (course: Course['sun'], never: Never): number | null =>
  never === 'sun-stays-above' ? course.low : never === 'sun-stays-below' ? course.high : null
