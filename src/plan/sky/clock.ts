import { Failure } from '#core/base'

/** Milliseconds since 1970-01-01T00:00Z. */
export type Instant = number

export const MINUTE = 60_000
const HOUR = 60 * MINUTE
export const DAY = 24 * HOUR

/**
 * Years in which both the ephemeris (a minute of arc or better) and the rules of clocks are dependable. Earth's rotation
 * and clock changes of later years are not known yet, and before 1900 clocks were a matter of each town.
 */
export const YEARS = { first: 1900, last: 2100 } as const

/** A day of the calendar, month 1 to 12. */
export interface CivilDate {
  readonly year: number
  readonly month: number
  readonly day: number
}

/**
 * "2027-02-09" as a day that exists.
 * @throws Failure usage "date-form", "date-range"
 */
export function parseDate(text: string): CivilDate {
  const parts = /^(\d{4})-(\d\d)-(\d\d)$/.exec(text)
  if (!parts) throw new Failure('usage', 'date-form', { found: text })
  const [year, month, day] = parts.slice(1).map(Number) as [number, number, number]
  const date = new Date(Date.UTC(year, month - 1, day))
  if (date.getUTCMonth() !== month - 1 || date.getUTCDate() !== day)
    throw new Failure('usage', 'date-form', { found: text })
  if (year < YEARS.first || year > YEARS.last)
    throw new Failure('usage', 'date-range', { found: text, first: YEARS.first, last: YEARS.last })
  return { year, month, day }
}

export const dateText = ({ year, month, day }: CivilDate): string =>
  `${String(year).padStart(4, '0')}-${String(month).padStart(2, '0')}-${String(day).padStart(2, '0')}`

const formats = new Map<string, Intl.DateTimeFormat>()

/** @throws Failure usage "unknown-zone" */
function formatOf(zone: string): Intl.DateTimeFormat {
  const known = formats.get(zone)
  if (known) return known
  try {
    const format = new Intl.DateTimeFormat('en-US', {
      timeZone: zone,
      calendar: 'gregory',
      numberingSystem: 'latn',
      hourCycle: 'h23',
      year: 'numeric',
      month: 'numeric',
      day: 'numeric',
      hour: 'numeric',
      minute: 'numeric',
      second: 'numeric',
    })
    formats.set(zone, format)
    return format
  } catch {
    throw new Failure('usage', 'unknown-zone', { found: zone })
  }
}

/** Passes when the zone is one that this machine knows. @throws Failure usage "unknown-zone" */
export function checkZone(zone: string): string {
  formatOf(zone)
  return zone
}

/** What the wall clock shows, as if it were UTC. */
function wallClock(at: Instant, zone: string): number {
  const part: Record<string, number> = {}
  for (const { type, value } of formatOf(zone).formatToParts(at)) if (type !== 'literal') part[type] = Number(value)
  return Date.UTC(part['year']!, part['month']! - 1, part['day'], part['hour'], part['minute'], part['second'])
}

/** East of Greenwich positive, in whole minutes as clocks of our time are set. */
export function offsetMinutes(at: Instant, zone: string): number {
  const second = Math.floor(at / 1000) * 1000
  return Math.round((wallClock(second, zone) - second) / MINUTE)
}

/**
 * The first instant at which clocks of the zone show that hour and minute of that day. Where a change of clocks skips
 * it, the instant at which they would have shown it by the time before the change.
 * @throws Failure usage "unknown-zone"
 */
export function instantOf(date: CivilDate, hour: number, minute: number, zone: string): Instant {
  const wanted = Date.UTC(date.year, date.month - 1, date.day, hour, minute)
  // Whatever offset holds half a day to either side holds at one of both.
  const candidates = [-DAY / 2, DAY / 2].map((away) => wanted - offsetMinutes(wanted + away, zone) * MINUTE)
  const shown = candidates.filter((at) => wallClock(at, zone) === wanted)
  return shown.length > 0 ? Math.min(...shown) : Math.max(...candidates)
}

/** Local noon of a civil date: where an evening begins. */
export const noonOf = (date: CivilDate, zone: string): Instant => instantOf(date, 12, 0, zone)

const two = (n: number) => String(n).padStart(2, '0')

/** "2027-02-09T17:31:04+01:00", seconds rounded. */
export function localIso(at: Instant, zone: string): string {
  const rounded = Math.round(at / 1000) * 1000
  const offset = offsetMinutes(rounded, zone)
  const wall = new Date(rounded + offset * MINUTE).toISOString().slice(0, 19)
  const size = Math.abs(offset)
  return `${wall}${offset < 0 ? '-' : '+'}${two(Math.floor(size / 60))}:${two(size % 60)}`
}

/** "2027-02-09T16:31:04Z", seconds rounded. */
export const utcIso = (at: Instant): string => `${new Date(Math.round(at / 1000) * 1000).toISOString().slice(0, 19)}Z`
