import { type CivilDate, DAY, type Instant, MINUTE, noonOf } from './clock.ts'
import { type EventName, eventsFrom, type SkyEvent } from './events.ts'
import { checkPlace, type Place } from './place.ts'
import { lightAt, pictureSkyLuminance, type SkyConditions, type SkyMoment, skyCourse } from './sky-state.ts'

/** One minute of the evening. Luminance in cd/m² of the picture's sky, mean of all directions. */
export interface EveningMinute extends SkyMoment {
  readonly lux: number
  readonly luxLow: number
  readonly luxHigh: number
  readonly skyLuminance: number
}

export interface Evening {
  readonly place: Place
  readonly zone: string
  readonly date: CivilDate
  readonly conditions: SkyConditions
  readonly events: readonly SkyEvent[]
  readonly minutes: readonly EveningMinute[]
  /** Start and end of the minutes. */
  readonly from: Instant
  readonly to: Instant
  /** Sun and moon at any time in the minutes' span and half an hour around it. */
  readonly momentAt: (at: Instant) => SkyMoment
}

const BEFORE_SUNSET = 60 * MINUTE
const AFTER_DUSK = 30 * MINUTE
/** Where dusk never ends: long enough for a flight. */
const LONGEST = 6 * 60 * MINUTE
const AROUND = 30 * MINUTE

/**
 * The evening of a date: events, and a table of whole minutes from an hour before sunset to half an hour after
 * astronomical dusk. Where the sun does not set, or never rises, the table stands around its lowest or highest moment.
 * @throws Failure usage for a place or zone that is none
 */
export function eveningOf(
  place: Place,
  date: CivilDate,
  zone: string,
  conditions: SkyConditions,
  eyeMetres = 0,
): Evening {
  checkPlace(place)
  const noon = noonOf(date, zone)
  const events = eventsFrom(place, noon, eyeMetres)
  const at = (name: EventName) => events.find((e) => e.name === name)?.at ?? null
  const sunset = at('sunset')
  const [from, to] = span(place, noon, sunset, at('astronomical-dusk'), at('civil-dusk'))
  const momentAt = skyCourse(place, from - AROUND, to + AROUND)
  const minutes: EveningMinute[] = []
  for (let t = from; t <= to; t += MINUTE) {
    const moment = momentAt(t)
    minutes.push({
      ...moment,
      ...lightAt(moment, conditions),
      skyLuminance: pictureSkyLuminance(moment, conditions, null),
    })
  }
  return { place, zone, date, conditions, events, minutes, from, to, momentAt }
}

function span(
  place: Place,
  noon: Instant,
  sunset: Instant | null,
  dusk: Instant | null,
  civilDusk: Instant | null,
): readonly [Instant, Instant] {
  const whole = (t: Instant) => Math.floor(t / MINUTE) * MINUTE
  const start = sunset ?? civilDusk
  if (start === null) {
    // Midnight sun or polar night: around the moment in which the light comes nearest to dusk.
    const middle = nearestToDusk(place, noon)
    return [whole(middle - LONGEST / 2), whole(middle + LONGEST / 2)]
  }
  const end = dusk !== null && dusk > start ? dusk + AFTER_DUSK : start + LONGEST
  return [whole(start - BEFORE_SUNSET), whole(Math.min(end, start + LONGEST))]
}

/** Of the 24 hours from noon, the quarter of an hour with the sun nearest to −3°. */
function nearestToDusk(place: Place, noon: Instant): Instant {
  const momentAt = skyCourse(place, noon, noon + DAY)
  let best = noon
  let distance = Number.POSITIVE_INFINITY
  for (let t = noon; t < noon + DAY; t += 15 * MINUTE) {
    const away = Math.abs(momentAt(t).sun.altitude + 3)
    if (away < distance) [best, distance] = [t, away]
  }
  return best
}
