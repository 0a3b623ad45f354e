import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import type { Evening, Viewpoint } from './evening.ts'
import { aircraft, allFinite, anyNumber, calm, lock } from './flight.fixture.ts'
import { placeAt } from './geodesic.ts'
import { orderViewpoints } from './order.ts'

const from = Date.UTC(2027, 1, 9, 16, 30)
const minute = 60_000

const evening: Evening = {
  from,
  until: from + 45 * minute,
  sunAzimuthDegrees: 245,
  batteries: null,
  swapMinutes: 2,
  stay: { aircraft, conditions: calm, takeOff: lock, home: lock, returnHeightMetres: 60 },
}

const viewpoint = (name: string, headingDegrees: number, change: Partial<Viewpoint> = {}): Viewpoint => ({
  name,
  position: placeAt(lock, headingDegrees, 300),
  heightMetres: 60,
  headingDegrees,
  tiltDegrees: -15,
  minutes: 4,
  wantedAt: null,
  ...change,
})

const down = viewpoint('lock from above', 0, { tiltDegrees: -90 })
const away = viewpoint('mill', 60)
const glow = viewpoint('weir', 250)
const names = (all: readonly Viewpoint[], e = evening) => orderViewpoints(all, e).visits.map((v) => v.name)

describe('the order of an evening', () => {
  it('takes the afterglow first and looks down last', () => {
    expect(names([down, away, glow])).toEqual(['weir', 'mill', 'lock from above'])
    expect(names([away, down, glow])).toEqual(['weir', 'mill', 'lock from above'])
  })

  it('puts the middle of a visit on the moment wanted, by hand', () => {
    const [visit] = orderViewpoints([{ ...glow, wantedAt: from + 20 * minute }], evening).visits
    expect(visit!.arriveAt).toBeCloseTo(from + 18 * minute, 0)
    expect(visit!.leaveAt - visit!.arriveAt).toBeCloseTo(4 * minute, 0)
    expect(visit!.minutesOff).toBeCloseTo(0, 9)
    // Out: 60 m up 15 s, 300 m 30 s. Home: 30 s, down 20 s, landing 60 s: to leave 24 − 110/60 after take-off.
    const takeOff = from + 18 * minute - 45_000
    expect(visit!.leaveBy).toBeCloseTo(takeOff + 24 * minute - 110_000, 0)
  })

  it('lets a moment half an hour later outweigh the order of light, and waits for it on the ground', () => {
    const early = { ...down, wantedAt: from + 5 * minute }
    const late = { ...glow, wantedAt: from + 38 * minute }
    const found = orderViewpoints([late, early], evening)
    expect(found.visits.map((v) => [v.name, v.battery])).toEqual([
      ['lock from above', 1],
      ['weir', 2],
    ])
    expect(found.visits.every((v) => Math.abs(v.minutesOff!) < 1e-6)).toBe(true)
    expect(found.sorties[1]!.takeOffAt - found.sorties[0]!.landAt).toBeGreaterThan(2 * minute)
    // With one battery it does what it can: both, the second as late as the battery lasts.
    const one = orderViewpoints([late, early], { ...evening, batteries: 1 })
    expect(one.visits).toHaveLength(2)
    expect(one.sorties).toHaveLength(1)
    expect(one.sorties[0]!.minutes).toBeLessThanOrEqual(one.sorties[0]!.usableMinutes + 1e-9)
  })

  it('waits a few minutes in the air', () => {
    const found = orderViewpoints(
      [
        { ...glow, wantedAt: from + 5 * minute },
        { ...away, wantedAt: from + 13 * minute },
      ],
      evening,
    )
    expect(found.sorties).toHaveLength(1)
    expect(found.visits[1]!.waitMinutes).toBeGreaterThan(2)
    expect(found.visits.every((v) => Math.abs(v.minutesOff!) < 1e-6)).toBe(true)
  })

  it('changes batteries at home and says how many it takes', () => {
    const many = [0, 1, 2, 3, 4, 5].map((i) => viewpoint(`w${i}`, 240 + i, { minutes: 7 }))
    const found = orderViewpoints(many, { ...evening, until: from + 120 * minute })
    expect(found.visits).toHaveLength(6)
    expect(found.sorties).toHaveLength(2)
    expect(found.sorties[1]!.takeOffAt - found.sorties[0]!.landAt).toBeCloseTo(2 * minute, 0)
    const short = orderViewpoints(many, { ...evening, until: from + 120 * minute, batteries: 1 })
    expect(short.visits).toHaveLength(3)
    expect(short.leftOut.map((l) => l.reason)).toEqual(Array(3).fill('no-battery-left'))
  })

  it('leaves out what does not fit, with the reason', () => {
    const window = orderViewpoints([glow, away, down], { ...evening, until: from + 6 * minute })
    expect(window.visits.map((v) => v.name)).toEqual(['weir'])
    expect(window.leftOut.map((l) => [l.what, l.reason])).toEqual([
      ['mill', 'window-too-short'],
      ['lock from above', 'window-too-short'],
    ])
    const far = viewpoint('far', 250, { position: placeAt(lock, 250, 9000) })
    const long = viewpoint('long', 250, { minutes: 23 })
    const reasons = orderViewpoints([far, long], evening).leftOut.map((l) => l.reason)
    expect(reasons).toEqual(['reserve-eaten', 'battery-too-short'])
    expect(orderViewpoints([glow], { ...evening, until: from - minute }).leftOut[0]!.reason).toBe('window-too-short')
    expect(orderViewpoints([], evening)).toMatchObject({ visits: [], sorties: [], leftOut: [] })
    expect(orderViewpoints([glow], { ...evening, batteries: 0 }).leftOut[0]!.reason).toBe('no-battery-left')
  })

  it('ten minutes late is the same with a later start: never more visits, all after it', () => {
    const all = [glow, away, down].map((v, i) => ({ ...v, wantedAt: from + (15 + 3 * i) * minute }))
    const late = orderViewpoints(all, { ...evening, from: from + 10 * minute })
    expect(late.visits.length).toBeLessThanOrEqual(3)
    expect(Math.min(...late.sorties.map((s) => s.takeOffAt))).toBeGreaterThanOrEqual(from + 10 * minute)
  })

  it('holds every promise: after each other, in the window, home on the battery, left by the time to leave', () => {
    const any = fc.record({
      azimuth: anyNumber(0, 360),
      metres: anyNumber(0, 2500),
      heading: anyNumber(0, 360),
      tilt: anyNumber(-90, 0),
      minutes: anyNumber(1, 10),
      wanted: fc.option(anyNumber(-10, 70)),
    })
    let visits = 0
    fc.assert(
      fc.property(
        fc.array(any, { maxLength: 7 }),
        fc.option(fc.integer({ min: 1, max: 3 })),
        anyNumber(5, 60),
        anyNumber(0, 8),
        (all, batteries, window, wind) => {
          const conditions = { ...calm, wind: { ...calm.wind, speedMetresPerSecond: wind } }
          const until = from + window * minute
          const e = { ...evening, batteries, until, stay: { ...evening.stay, conditions } }
          const viewpoints = all.map((v, i) =>
            viewpoint(`v${i}`, v.heading, {
              position: placeAt(lock, v.azimuth, v.metres),
              tiltDegrees: v.tilt,
              minutes: v.minutes,
              wantedAt: v.wanted === null ? null : from + v.wanted * minute,
            }),
          )
          const found = orderViewpoints(viewpoints, e)
          expect(allFinite(found)).toBe(true)
          expect(found.visits.length + found.leftOut.length).toBe(viewpoints.length)
          let before = from
          for (const v of found.visits) {
            expect(v.arriveAt).toBeGreaterThanOrEqual(before - 1)
            expect(v.leaveAt).toBeLessThanOrEqual(Math.min(v.leaveBy, until) + 1)
            before = v.leaveAt
            visits++
          }
          expect(found.sorties.length).toBeLessThanOrEqual(batteries ?? 99)
          found.sorties.forEach((s, i) => {
            expect(s.minutes).toBeLessThanOrEqual(s.usableMinutes + 1e-6)
            expect(s.takeOffAt).toBeGreaterThanOrEqual(
              (found.sorties[i - 1]?.landAt ?? from - 2 * minute) + 2 * minute - 1,
            )
          })
        },
      ),
      { numRuns: 300 },
    )
    expect(visits).toBeGreaterThan(300)
  })

  it('orders more than eight by insertion, and refuses a crowd', () => {
    const nine = Array.from({ length: 9 }, (_, i) => viewpoint(`w${i}`, 20 * i, { minutes: 2 }))
    const found = orderViewpoints(nine, { ...evening, until: from + 90 * minute })
    expect(found.search).toBe('insertion')
    expect(found.visits).toHaveLength(9)
    expect(() =>
      orderViewpoints(
        Array.from({ length: 41 }, () => glow),
        evening,
      ),
    ).toThrow('too-many-viewpoints')
  })
})
