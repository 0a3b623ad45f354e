import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { balanceOf, groundFallsBelow } from './balance.ts'
import { moonAt, sunAt } from './bodies.ts'
import { MINUTE, parseDate } from './clock.ts'
import { eveningOf } from './evening.ts'
import { separation } from './sky-luminance.ts'
import { skyCourse } from './sky-state.ts'

const clear = { cloud: 'clear', skyglowMagnitudes: null } as const
const river = { latitude: 50.1, longitude: 14.4 }

describe('an evening', () => {
  it('interpolates sun and moon to a thousandth of a degree', () => {
    let worst = 0
    for (const place of [
      river,
      { latitude: 0, longitude: -78 },
      { latitude: -54.8, longitude: -68.3 },
      { latitude: 89, longitude: 0 },
    ]) {
      const from = Date.UTC(2026, 5, 21, 12)
      const momentAt = skyCourse(place, from, from + 6 * 60 * MINUTE)
      for (let t = from; t < from + 6 * 60 * MINUTE; t += 7 * MINUTE + 13_000) {
        const moment = momentAt(t)
        worst = Math.max(worst, separation(moment.sun, sunAt(place, t)), separation(moment.moon, moonAt(place, t)))
      }
    }
    console.log(`interpolated positions: worst ${worst.toExponential(1)}°`)
    expect(worst).toBeLessThan(0.001)
  })

  it('has its minutes whole, in order, from an hour before sunset to after astronomical dusk', () => {
    const evening = eveningOf(river, parseDate('2027-02-09'), 'Europe/Prague', clear)
    const at = (name: string) => evening.events.find((e) => e.name === name)!.at!
    expect(evening.minutes[0]!.at % MINUTE).toBe(0)
    expect(at('sunset') - evening.from).toBeLessThan(61 * MINUTE)
    expect(evening.to - at('astronomical-dusk')).toBeGreaterThan(28 * MINUTE)
    for (let i = 1; i < evening.minutes.length; i++) {
      expect(evening.minutes[i]!.at - evening.minutes[i - 1]!.at).toBe(MINUTE)
      expect(evening.minutes[i]!.lux).toBeLessThan(evening.minutes[i - 1]!.lux * 1.0001)
    }
  })

  it('has light that falls smoothly through sunset: no minute takes more than 0.4 stop', () => {
    const evening = eveningOf({ latitude: 0, longitude: 0 }, parseDate('2027-03-20'), 'UTC', clear)
    const around = evening.minutes.filter((m) => m.sun.altitude > -3 && m.sun.altitude < 3)
    const steps = around.slice(1).map((m, i) => Math.log2(around[i]!.lux / m.lux))
    console.log(`steepest minute around sunset at the equator: ${Math.max(...steps).toFixed(2)} stop`)
    expect(Math.max(...steps)).toBeLessThan(0.4)
    expect(Math.min(...steps)).toBeGreaterThan(0)
  })

  it('balances floodlit walls with a sky in the published window of sun altitudes', () => {
    // EV 3 to 5 (ANSI PH2.7): a sky as even as E/π reaches them between −4.7 and −6°; the low sky of a picture is brighter
    // than that, and so a little later.
    const evening = eveningOf(river, parseDate('2027-02-09'), 'Europe/Prague', clear)
    for (const ev of [3, 4, 5]) {
      const { at, sunAltitude, minutesPerStop } = balanceOf(evening, 2 ** ev / 8, null)
      expect(at).not.toBeNull()
      console.log(`EV ${ev}: sun ${sunAltitude!.toFixed(2)}°, a stop every ${minutesPerStop!.toFixed(1)} min`)
      expect(sunAltitude!).toBeLessThan(-4.5)
      expect(sunAltitude!).toBeGreaterThan(-7.5)
      // "0.25 to 0.4 stop a minute" in twilight of middle latitudes: common practice.
      expect(1 / minutesPerStop!).toBeGreaterThan(0.2)
      expect(1 / minutesPerStop!).toBeLessThan(0.45)
    }
  })

  it('comes later toward the afterglow than away from it', () => {
    const evening = eveningOf(river, parseDate('2027-02-09'), 'Europe/Prague', clear)
    const sunset = evening.minutes[60]!.sun.azimuth
    const toward = balanceOf(evening, 2, sunset).at!
    const away = balanceOf(evening, 2, sunset + 180).at!
    expect((toward - away) / MINUTE).toBeGreaterThan(2)
    expect((toward - away) / MINUTE).toBeLessThan(25)
  })

  it('says why there is no balance', () => {
    const midnightSun = eveningOf({ latitude: 69.65, longitude: 18.96 }, parseDate('2026-06-21'), 'Europe/Oslo', clear)
    expect(balanceOf(midnightSun, 2, null)).toMatchObject({ at: null, never: 'sky-stays-brighter' })
    const polarNight = eveningOf(
      { latitude: 78.22, longitude: 15.63 },
      parseDate('2026-12-21'),
      'Arctic/Longyearbyen',
      clear,
    )
    expect(balanceOf(polarNight, 20, null)).toMatchObject({ at: null, never: 'sky-stays-darker' })
  })

  it('goes under 10 lux near −5°', () => {
    const evening = eveningOf(river, parseDate('2027-02-09'), 'Europe/Prague', clear)
    const found = groundFallsBelow(evening, 10)
    if (!('at' in found)) throw new Error('it gets dark every evening at 50° north in February')
    expect(evening.momentAt(found.at).sun.altitude).toBeCloseTo(-5, 0)
  })

  it('is whole and full of numbers anywhere on earth on any day', () => {
    fc.assert(
      fc.property(
        fc.double({ min: -90, max: 90, noNaN: true }),
        fc.double({ min: -180, max: 180, noNaN: true }),
        fc.integer({ min: 1900, max: 2100 }),
        fc.integer({ min: 1, max: 12 }),
        fc.integer({ min: 1, max: 28 }),
        (latitude, longitude, year, month, day) => {
          const evening = eveningOf({ latitude, longitude }, { year, month, day }, 'UTC', clear)
          expect(evening.minutes.length).toBeGreaterThan(60)
          expect(evening.minutes.length).toBeLessThan(9 * 60)
          for (const m of evening.minutes)
            expect(
              [m.lux, m.luxLow, m.luxHigh, m.skyLuminance, m.sun.altitude, m.sun.azimuth, m.moon.altitude].every(
                Number.isFinite,
              ) && m.lux > 0,
            ).toBe(true)
        },
      ),
      { numRuns: 60 },
    )
  })
})
