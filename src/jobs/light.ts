import { Failure } from '#core/base'
import { ev100OfLuminance, ev100OfLux, levelOf, luminanceOfEv100, type Subject, subjects } from '#plan/exposure'
import {
  balanceOf,
  type Cloud,
  checkPlace,
  checkZone,
  type Evening,
  type EveningMinute,
  eveningOf,
  groundFallsBelow,
  localIso,
  parseDate,
  phaseName,
  timeZoneOf,
  utcIso,
} from '#plan/sky'
import type { LightDocument } from './contract/index.ts'

export interface LightWish {
  readonly latitude: number
  readonly longitude: number
  /** IANA name; null takes the zone of the place. */
  readonly timeZone: string | null
  /** "2027-02-09", by the calendar of the place. */
  readonly date: string
  readonly cloud: Cloud
  /** Zenith brightness at night, magnitudes a square arcsecond; null for a dark sky. */
  readonly skyglowMagnitudes: number | null
  /** Rise and set as an eye that high sees them; 0 for the ground. */
  readonly eyeMetres: number
  /** Light that obstacle sensors need on the ground. */
  readonly sensingLux: number
}

export const round = (value: number, digits: number): number => Number(value.toFixed(digits))
/** Light spans seven decades: four digits of it. */
const fourDigits = (value: number): number => Number(value.toPrecision(4))

/** The sky of the wish. @throws Failure usage: place, date or zone that is none */
export function eveningFor(wish: LightWish): Evening {
  const place = checkPlace({ latitude: wish.latitude, longitude: wish.longitude })
  const zone = wish.timeZone === null ? timeZoneOf(place) : checkZone(wish.timeZone)
  if (!(wish.eyeMetres >= 0 && wish.eyeMetres <= 10_000))
    throw new Failure('usage', 'eye-height', { found: String(wish.eyeMetres) })
  const { cloud, skyglowMagnitudes, eyeMetres } = wish
  return eveningOf(place, parseDate(wish.date), zone, { cloud, skyglowMagnitudes }, eyeMetres)
}

/**
 * The light of one evening: events, minutes, and when the sky equals each kind of lit subject.
 * @throws Failure usage "latitude-out-of-range", "longitude-out-of-range", "date-form", "date-range", "unknown-zone", "eye-height"
 */
export function light(wish: LightWish): LightDocument {
  const evening = eveningFor(wish)
  const { zone } = evening
  return {
    schema: 'light/1',
    place: { latitude: wish.latitude, longitude: wish.longitude, timeZone: zone },
    date: wish.date,
    events: eventEntries(evening),
    minutes: evening.minutes.map((m) => minuteEntry(m, zone)),
    balance: subjects.map((s) => balanceEntry(evening, s, null)),
    moon: moonEntry(evening),
    sensing: sensingEntry(evening, wish.sensingLux),
    basis: basisOf(wish),
    leftOut: [],
  }
}

const times = (at: number | null, zone: string) => ({
  utc: at === null ? null : utcIso(at),
  local: at === null ? null : localIso(at, zone),
})

export const eventEntries = ({ events, zone }: Evening): LightDocument['events'] =>
  events.map((e) => ({
    name: e.name,
    ...times(e.at, zone),
    never: e.never,
    sunAltitude: e.sunAltitude === null ? null : round(e.sunAltitude, 4),
  }))

const minuteEntry = (m: EveningMinute, zone: string): LightDocument['minutes'][number] => ({
  utc: utcIso(m.at),
  local: localIso(m.at, zone),
  sunAltitude: round(m.sun.altitude, 4),
  sunAzimuth: round(m.sun.azimuth, 3),
  moonAltitude: round(m.moon.altitude, 3),
  moonAzimuth: round(m.moon.azimuth, 3),
  moonFraction: round(m.moon.fraction, 4),
  lux: fourDigits(m.lux),
  luxLow: fourDigits(m.luxLow),
  luxHigh: fourDigits(m.luxHigh),
  ev100: round(ev100OfLux(m.lux), 3),
  skyEv100: round(ev100OfLuminance(m.skyLuminance), 3),
})

/** When the sky toward a heading (null: all directions) equals a subject of the published table, or one learnt here. */
export function balanceEntry(
  evening: Evening,
  subject: Pick<Subject, 'id' | 'words' | 'lowEv100' | 'highEv100'>,
  headingDegrees: number | null,
): LightDocument['balance'][number] {
  const subjectEv100 = levelOf(subject)
  const found = balanceOf(evening, luminanceOfEv100(subjectEv100), headingDegrees)
  return {
    subject: subject.id,
    words: subject.words,
    subjectEv100,
    ...times(found.at, evening.zone),
    never: found.never,
    sunAltitude: found.sunAltitude === null ? null : round(found.sunAltitude, 3),
    minutesPerStop: found.minutesPerStop === null ? null : round(found.minutesPerStop, 2),
  }
}

/** The moon in the middle of the evening's table. */
export function moonEntry({ minutes }: Evening): LightDocument['moon'] {
  const { moon } = minutes[minutes.length >> 1]!
  return { phase: phaseName(moon.phaseLongitude), fraction: round(moon.fraction, 3) }
}

export function sensingEntry(evening: Evening, lux: number): LightDocument['sensing'] {
  const found = groundFallsBelow(evening, lux)
  if ('never' in found) return { lux, utc: null, local: null, never: `light-${found.never}` }
  return { lux, utc: utcIso(found.at), local: localIso(found.at, evening.zone), never: null }
}

/** Where the numbers come from and how far they can be trusted. */
export const basisOf = ({ cloud, skyglowMagnitudes, eyeMetres }: LightWish): string[] => [
  'Sun and moon: astronomy-engine. Rise and set: upper limb, 34′ of refraction, level horizon. Twilight: the sun’s centre without air.',
  'Light on the ground: the U.S. Naval Observatory’s fit to Brown 1952, clear sky; low and high are the least and the most of three published models. They differ by a sixth at sunset, a quarter at −2 to −5° and a factor of two at −12°; real skies differ more.',
  'Sky: the zenith of Patat, Ugolnikov, Postylyakov 2006, spread over the dome with a form of this program’s; a picture’s sky is 12° above the horizon. Within half a stop at the zenith and one stop elsewhere.',
  'EV at ISO 100: of light on the ground by C = 250, of luminance by K = 12.5 (ISO 2720).',
  'Lit subjects: the middle of the published range (ANSI PH2.7-1973/1986).',
  ...(cloud === 'clear' ? [] : [`Cloud: ${cloud}; light divided as in USNO Circular 171 (1, 2, 3, 10).`]),
  ...(skyglowMagnitudes === null ? [] : [`Skyglow: ${skyglowMagnitudes} magnitudes a square arcsecond at the zenith.`]),
  ...(eyeMetres > 0 ? [`Rise and set as seen from ${eyeMetres} m above flat ground.`] : []),
]
