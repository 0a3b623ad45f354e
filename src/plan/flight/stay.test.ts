import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { aircraft, allFinite, anyNumber, anyPlace, calm, lock } from './flight.fixture.ts'
import { placeAt } from './geodesic.ts'
import { type StayPlan, stayAt } from './stay.ts'

const plan: StayPlan = { aircraft, conditions: calm, takeOff: lock, home: lock, returnHeightMetres: 90 }
const spot = (metres: number, heightMetres = 60, azimuth = 90) => ({
  position: placeAt(lock, azimuth, metres),
  heightMetres,
})

describe('the stay at a viewpoint', () => {
  it('is what way out and way home leave, by hand', () => {
    const stay = stayAt(spot(600), plan)
    // 24 usable; out 75 s; home 157.5 s with the landing: 24 − 1.25 − 2.625.
    if (!stay.can) throw new Error(stay.why)
    expect(stay.hoverMinutes).toBeCloseTo(20.125, 9)
    expect(stay.leaveAfterMinutes).toBeCloseTo(21.375, 9)
    expect(stay.outboundMinutes + stay.hoverMinutes).toBeCloseTo(stay.leaveAfterMinutes, 9)
  })

  it('is shorter by the climb and descent when ways are flown higher than the viewpoint, by hand', () => {
    const low = stayAt(spot(600), plan)
    const high = stayAt(spot(600), { ...plan, transferHeightMetres: 84 })
    if (!low.can || !high.can) throw new Error('no stay')
    // 24 m more up at 4 m/s and down again at 3 m/s: 6 + 8 s.
    expect(low.hoverMinutes - high.hoverMinutes).toBeCloseTo(14 / 60, 9)
  })

  it('with 5 m/s against the way home and 0 °C, by hand', () => {
    // Constant wind with height: viewpoint and way home at the 90 m where it is measured.
    const wind = { speedMetresPerSecond: 5, gustMetresPerSecond: 8, fromDegrees: 270, measuredAtMetres: 90 }
    const stay = stayAt(spot(900, 90), { ...plan, conditions: { temperatureCelsius: 0, wind, terrain: 'city' } })
    if (!stay.can) throw new Error(stay.why)
    // 30·0.7·0.925·0.8 = 15.54; out 22.5 + 90 s (tailwind not counted); home 180 + 30 + 60 s.
    expect(stay.hoverMinutes).toBeCloseTo(15.54 - 112.5 / 60 - 270 / 60, 6)
  })

  it('cannot be, with the reason and the figures', () => {
    const far = stayAt(spot(9000), plan)
    expect(far).toMatchObject({ can: false, why: 'reserve-eaten', usableMinutes: 24 })
    expect(far.can === false && far.neededMinutes).toBeGreaterThan(24)
    const storm = { ...calm, wind: { ...calm.wind, speedMetresPerSecond: 12 } }
    expect(stayAt(spot(100), { ...plan, conditions: storm })).toMatchObject({ can: false, why: 'wind-over-airspeed' })
    expect(stayAt(spot(100), { ...plan, conditions: { ...calm, temperatureCelsius: -30 } })).toMatchObject({
      why: 'colder-than-curve',
    })
  })

  it('is never longer with more wind, cold, distance, reserve or return height; anywhere, in any wind', () => {
    const more = { wind: 0, gust: 0, cold: 0, distance: 0, reserve: 0, height: 0 }
    let shorter = 0
    fc.assert(
      fc.property(
        anyPlace,
        fc.record({
          wind: anyNumber(0, 5),
          from: fc.option(anyNumber(0, 360)),
          celsius: anyNumber(-20, 35),
          distance: anyNumber(0, 1500),
          azimuth: anyNumber(0, 360),
          height: anyNumber(5, 120),
          home: anyNumber(10, 120),
          reserve: anyNumber(0, 0.4),
          terrain: fc.constantFrom('water' as const, 'open' as const, 'suburb' as const, 'city' as const),
        }),
        fc.constantFrom(...(Object.keys(more) as (keyof typeof more)[])),
        anyNumber(0, 1),
        (place, c, which, d) => {
          const hover = (m: Partial<typeof more>) => {
            const wind = {
              speedMetresPerSecond: c.wind + (m.wind ?? 0) * 6,
              gustMetresPerSecond: null,
              fromDegrees: c.from,
              measuredAtMetres: 10,
            }
            const stay = stayAt(
              { position: placeAt(place, c.azimuth, c.distance + (m.distance ?? 0) * 1000), heightMetres: c.height },
              {
                aircraft,
                conditions: { temperatureCelsius: c.celsius - (m.cold ?? 0) * 10, wind, terrain: c.terrain },
                takeOff: place,
                home: place,
                returnHeightMetres: c.home + (m.height ?? 0) * 30,
                reserve: c.reserve + (m.reserve ?? 0) * 0.3,
              },
            )
            expect(allFinite(stay)).toBe(true)
            return stay.can ? stay.hoverMinutes : 0
          }
          const before = hover({})
          const after = hover({ [which]: d })
          if (after < before) shorter++
          expect(after).toBeLessThanOrEqual(before + 1e-6)
        },
      ),
      { numRuns: 2000 },
    )
    console.log(`stay: ${shorter} of 2000 changes for the worse made it shorter, none longer`)
    expect(shorter).toBeGreaterThan(500)
  })
})
