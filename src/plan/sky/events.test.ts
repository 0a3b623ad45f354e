import { readFileSync } from 'node:fs'
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { moonAt, sunAt } from './bodies.ts'
import { DAY, localIso, noonOf, parseDate, utcIso } from './clock.ts'
import { type EventName, eveningEvents, eventsFrom } from './events.ts'
import { moonQuarters, seasonsOf } from './moon-quarters.ts'
import { timeZoneOf } from './place.ts'

const truth = (name: string) =>
  JSON.parse(readFileSync(new URL(`../../../truth/sky/${name}.json`, import.meta.url), 'utf8'))

type Times = Record<string, string | null>
interface Case {
  place: string
  tz: string
  lat: number
  lon: number
  localDate: string
  searchFrom: string
  astronomyEngine: Times
  ephem: Times
  local: Times
  lowestSunAlt_deg: number
  highestSunAlt_deg: number
  moonAtNoonPlus12h: {
    t: string
    fraction_AE: number
    phaseLongitude_AE: number
    alt_airless_AE: number
    az_AE: number
    distance_km_AE: number
  }
}
const { cases } = truth('events') as { cases: Case[] }

const keys: Partial<Record<EventName, string>> = {
  sunset: 'sunset',
  'civil-dusk': 'civilDusk',
  'nautical-dusk': 'nauticalDusk',
  'astronomical-dusk': 'astronomicalDusk',
  'astronomical-dawn': 'astronomicalDawn',
  'nautical-dawn': 'nauticalDawn',
  'civil-dawn': 'civilDawn',
  sunrise: 'sunrise',
  moonrise: 'moonrise',
  moonset: 'moonset',
}
const altitudes: Partial<Record<EventName, number>> = {
  sunset: -0.8333,
  sunrise: -0.8333,
  'civil-dusk': -6,
  'civil-dawn': -6,
  'nautical-dusk': -12,
  'nautical-dawn': -12,
  'astronomical-dusk': -18,
  'astronomical-dawn': -18,
}

describe('the events of an evening', () => {
  let worst = 0
  it.each(cases.map((c) => [`${c.place} ${c.localDate}`, c] as const))(
    '%s: within 1 s of two libraries, nevers right',
    (_, c) => {
      const place = { latitude: c.lat, longitude: c.lon }
      const date = parseDate(c.localDate)
      expect(utcIso(noonOf(date, c.tz))).toBe(c.searchFrom)
      for (const event of eveningEvents(place, date, c.tz)) {
        const key = keys[event.name]
        if (!key) continue
        for (const library of [c.astronomyEngine, c.ephem]) {
          const expected = library[key]
          if (expected === null || expected === undefined) {
            expect(event.at, event.name).toBeNull()
            continue
          }
          const off = Math.abs(event.at! - Date.parse(expected)) / 1000
          worst = Math.max(worst, off)
          // Both print whole seconds: half a second of rounding on top.
          expect(off, `${event.name} against ${expected}`).toBeLessThanOrEqual(1.5)
        }
        // What the wall clock shows, with the offset of that very moment.
        if (event.at !== null && c.local[key]) expect(localIso(event.at, c.tz).slice(19)).toBe(c.local[key]!.slice(19))
        const altitude = altitudes[event.name]
        if (event.at === null && altitude !== undefined) {
          const expected =
            c.lowestSunAlt_deg > altitude ? 'sun-stays-above' : c.highestSunAlt_deg < altitude ? 'sun-stays-below' : ''
          expect(event.never).toBe(expected)
        }
        expect(event.never === null).toBe(event.at !== null)
      }
      console.log(`events, ${c.place}: worst so far ${worst.toFixed(2)} s`)
    },
  )

  it.each(cases.map((c) => [`${c.place} ${c.localDate}`, c] as const))(
    '%s: the moon twelve hours after noon',
    (_, c) => {
      const m = c.moonAtNoonPlus12h
      const moon = moonAt({ latitude: c.lat, longitude: c.lon }, Date.parse(m.t))
      expect(moon.fraction).toBeCloseTo(m.fraction_AE, 4)
      expect(moon.phaseLongitude).toBeCloseTo(m.phaseLongitude_AE, 2)
      expect(moon.altitude).toBeCloseTo(m.alt_airless_AE, 2)
      expect(moon.azimuth).toBeCloseTo(m.az_AE, 2)
      expect(Math.abs(moon.distanceKilometres - m.distance_km_AE)).toBeLessThan(2)
    },
  )

  // Spot positions by astronomy-engine 2.1.19, azimuth and altitude without air; the last is minutes from a solar eclipse.
  it.each([
    ['2026-03-28T20:00Z', 51.5074, -0.1278, 295.054, -14.6995, 156.9477, 53.8284, 0.81347],
    ['2026-06-21T22:20Z', 60.1699, 24.9384, 359.5024, -6.3945, 269.0326, -3.3282, 0.503],
    ['2026-12-21T11:00Z', 69.6492, 18.9553, 184.0832, -3.1437, 40.8461, 7.4514, 0.90005],
    ['2026-04-04T09:00Z', -33.8688, 151.2093, 266.1484, -16.0324, 110.3357, 3.5886, 0.94814],
    ['2026-08-12T18:00Z', 64.1466, -21.9426, 255.4095, 23.3211, 255.2994, 23.3071, 0.00006],
  ])(
    '%s: sun and moon stand where the library puts them',
    (at, latitude, longitude, sunAz, sunAlt, moonAz, moonAlt, lit) => {
      const place = { latitude, longitude }
      const [sun, moon] = [sunAt(place, Date.parse(at)), moonAt(place, Date.parse(at))]
      expect(sun.azimuth).toBeCloseTo(sunAz, 3)
      expect(sun.altitude).toBeCloseTo(sunAlt, 3)
      expect(moon.azimuth).toBeCloseTo(moonAz, 3)
      expect(moon.altitude).toBeCloseTo(moonAlt, 3)
      expect(moon.fraction).toBeCloseTo(lit, 4)
    },
  )

  it('the SPA example: the sun of 17 Oct 2003 over Golden, and the sunset of its own evening', () => {
    // Reda, Andreas 2003, table A5.1: topocentric geometric elevation 39.872046°, azimuth 194.340241°; its "sunset
    // 17:20:19" is that of the evening before, which is the sunset of the UTC date.
    const place = { latitude: 39.742476, longitude: -105.1786 }
    const sun = sunAt(place, Date.parse('2003-10-17T19:30:30Z'))
    expect(sun.altitude).toBeCloseTo(39.872046, 3)
    expect(sun.azimuth).toBeCloseTo(194.340241, 3)
    const evening = (date: string) => eveningEvents(place, parseDate(date), 'Etc/GMT+7')[0]!.at!
    expect(Math.abs(evening('2003-10-16') - Date.parse('2003-10-16T17:20:19-07:00')) / 1000).toBeLessThan(2)
    expect(Math.abs(evening('2003-10-17') - Date.parse('2003-10-17T17:20:19-07:00')) / 1000).toBeGreaterThan(80)
  })

  // Reference: astronomy-engine's own dip for an eye 60 and 120 m up; a second library gives 18:28:46.9 and 18:29:30.0.
  it.each([
    [0, '18:26:59.7'],
    [60, '18:28:47.4'],
    [120, '18:29:32.8'],
  ])('from %i m up over London the sun sets at %s', (height, at) => {
    const noon = Date.parse('2026-03-28T12:00:00Z')
    const [sunset] = eventsFrom({ latitude: 51.5074, longitude: -0.1278 }, noon, height)
    expect(Math.abs(sunset!.at! - Date.parse(`2026-03-28T${at}Z`))).toBeLessThan(1000)
  })

  it('thirty minutes after sunset is another dusk than −6°', () => {
    const events = eveningEvents({ latitude: 51.5074, longitude: -0.1278 }, parseDate('2026-03-28'), 'Europe/London')
    const at = (name: EventName) => events.find((e) => e.name === name)!.at!
    expect(at('civil-dusk-30min') - at('sunset')).toBe(30 * 60_000)
    expect(at('civil-dusk') - at('civil-dusk-30min')).toBeGreaterThan(3 * 60_000)
    const polar = eveningEvents({ latitude: 69.6492, longitude: 18.9553 }, parseDate('2026-06-21'), 'Europe/Oslo')
    expect(polar.find((e) => e.name === 'civil-dusk-30min')).toMatchObject({ at: null, never: 'no-sunset' })
  })

  it('come in order, inside the 24 hours, and never as something that is no number, all over the globe', () => {
    fc.assert(
      fc.property(
        fc.double({ min: -90, max: 90, noNaN: true }),
        fc.double({ min: -180, max: 180, noNaN: true }),
        fc.integer({ min: Date.UTC(1900, 0, 2), max: Date.UTC(2100, 11, 30) }),
        (latitude, longitude, from) => {
          const events = eventsFrom({ latitude, longitude }, from)
          expect(events).toHaveLength(11)
          for (const e of events) {
            expect((e.at === null) === (e.never !== null)).toBe(true)
            if (e.at === null) continue
            expect(Number.isFinite(e.at)).toBe(true)
            if (e.name !== 'civil-dusk-30min') expect(e.at >= from && e.at < from + DAY).toBe(true)
          }
        },
      ),
      { numRuns: 150 },
    )
  })
})

describe('the moon’s quarters and the seasons of 2026', () => {
  const { quarters_2026: quarters, seasons_2026: seasons } = truth('moon-2026')
  it('fall within a minute of the table', () => {
    const ours = moonQuarters(Date.UTC(2026, 0, 1), Date.UTC(2027, 0, 20)).slice(0, quarters.length)
    const off = ours.map((q, i) => Math.abs(q.at - Date.parse(quarters[i].t)) / 1000)
    expect(ours.map((q) => q.quarter)).toEqual(quarters.map((q: { quarter: number }) => q.quarter))
    console.log(`moon quarters: worst ${Math.max(...off).toFixed(1)} s of ${off.length}`)
    expect(Math.max(...off)).toBeLessThan(60)
    const found = seasonsOf(2026).map(utcIso)
    expect(found).toEqual([seasons.mar, seasons.jun, seasons.sep, seasons.dec])
  })
})

describe('the time zone of a place', () => {
  it.each(cases.map((c) => [c.place, c] as const))('%s', (_, c) => {
    const zone = timeZoneOf({ latitude: c.lat, longitude: c.lon })
    const at = Date.parse(c.searchFrom)
    // The same clock, whatever name the boundaries give it.
    expect(localIso(at, zone)).toBe(localIso(at, c.tz))
  })

  it('is refused in words when the place is none', () => {
    for (const [latitude, longitude] of [
      [91, 0],
      [-90.1, 0],
      [0, 181],
      [Number.NaN, 0],
      [0, Number.POSITIVE_INFINITY],
    ] as const)
      expect(() => timeZoneOf({ latitude, longitude })).toThrowError(/usage: (latitude|longitude)-out-of-range/)
  })
})
