import { describe, expect, it } from 'vitest'
import { temperatureFactor, usableMinutes, windFactor } from './battery.ts'
import { aircraft, calm } from './flight.fixture.ts'

const windy = (speed: number, celsius = 20) => ({
  ...calm,
  temperatureCelsius: celsius,
  wind: { ...calm.wind, speedMetresPerSecond: speed },
})

describe('usable minutes', () => {
  it('are rated × temperature × wind × (1 − reserve), by hand', () => {
    expect(usableMinutes(aircraft, calm, 10)).toMatchObject({ can: true, minutes: 24 })
    // 30 min, 0 °C: 0.7; 5 of 10 m/s: 1 − 0.3/4 = 0.925; 25 % kept: 30 × 0.7 × 0.925 × 0.75 = 14.56875.
    const cold = usableMinutes(aircraft, windy(5, 0), 10, 0.25)
    expect(cold).toMatchObject({ can: true, temperatureFactor: 0.7, windFactor: 0.925 })
    expect(cold.can && cold.minutes).toBeCloseTo(14.56875, 9)
    // Wind counts at the height flown: 5 m/s below are 5·12^(1/7) = 7.131 at 120 m.
    const high = usableMinutes(aircraft, windy(5), 120)
    expect(high.can && high.windFactor).toBeCloseTo(1 - 0.3 * 0.7131 ** 2, 4)
  })

  it('just below freezing keep 60 to 70 % of a mild day (a battery maker’s procedure, 2026)', () => {
    for (const celsius of [0, -1, -5, -10]) {
      expect(temperatureFactor(celsius)).toBeLessThanOrEqual(0.7)
      expect(temperatureFactor(celsius)).toBeGreaterThanOrEqual(0.6)
    }
    expect([temperatureFactor(20), temperatureFactor(35), temperatureFactor(5)]).toEqual([1, 1, 0.8])
  })

  it('are none, with the reason, in wind as fast as the aircraft, in unheard-of cold, and with all kept back', () => {
    expect(usableMinutes(aircraft, windy(10), 10)).toEqual({ can: false, why: 'wind-over-airspeed' })
    expect(usableMinutes(aircraft, windy(0, -21), 10)).toEqual({ can: false, why: 'colder-than-curve' })
    expect(usableMinutes(aircraft, calm, 10, 1)).toEqual({ can: false, why: 'reserve-eaten' })
    expect(windFactor(10, 10)).toBeNull()
    expect(windFactor(0, 10)).toBe(1)
  })

  it('refuse facts of no aircraft', () => {
    expect(() => usableMinutes({ ...aircraft, ratedMinutes: Number.NaN }, calm, 10)).toThrow('ratedMinutes')
    expect(() => usableMinutes({ ...aircraft, airspeedMetresPerSecond: 0 }, calm, 10)).toThrow(
      'airspeedMetresPerSecond',
    )
    expect(() => usableMinutes(aircraft, calm, 10, 1.2)).toThrow('reserve')
  })
})
