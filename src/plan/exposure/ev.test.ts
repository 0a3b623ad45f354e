import { readFileSync } from 'node:fs'
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import {
  apex,
  brightnessValueOf,
  ev100Of,
  ev100OfLuminance,
  ev100OfLux,
  exposureValue,
  INCIDENT_C_DOME,
  luminanceOfBrightnessValue,
  luminanceOfEv100,
  luxOfEv100,
  saturationLuminance,
  secondsFor,
  sensorExposure,
} from './ev.ts'
import { nominalSeconds, shutterSeries } from './series.ts'
import { levelOf, moonlitSubjects, subjectById, subjects } from './subjects.ts'

const { ev100: table, exposureCases } = JSON.parse(
  readFileSync(new URL('../../../truth/exposure/tables.json', import.meta.url), 'utf8'),
)

describe('exposure by the standards', () => {
  it('has the table of levels to its digits', () => {
    for (const row of table) {
      expect(luminanceOfEv100(row.ev100) / row['cd_m2_K12_5']).toBeCloseTo(1, 12)
      expect(luxOfEv100(row.ev100) / row['lux_C250']).toBeCloseTo(1, 12)
      expect(luxOfEv100(row.ev100, INCIDENT_C_DOME) / row['lux_C330']).toBeCloseTo(1, 12)
      expect(ev100OfLuminance(row['cd_m2_K12_5'])).toBeCloseTo(row.ev100, 12)
      expect(ev100OfLux(row['lux_C250'])).toBeCloseTo(row.ev100, 12)
      // 1.2·2^EV, to the digits that 78/0.65 gives.
      const setting = { fNumber: 2 ** (row.ev100 / 2), seconds: 1, iso: 100 }
      expect(saturationLuminance(setting) / row['Lsat_78_over_Sq']).toBeCloseTo(1, 12)
    }
  })

  it('has the cases to their digits', () => {
    for (const c of exposureCases) {
      const setting = { fNumber: c.N, seconds: c.t, iso: c.S }
      expect(exposureValue(c.N, c.t)).toBeCloseTo(c.EV, 10)
      expect(ev100Of(setting)).toBeCloseTo(c.EV100, 10)
      expect(apex.aperture(c.N)).toBeCloseTo(c.Av, 10)
      expect(apex.time(c.t)).toBeCloseTo(c.Tv, 10)
      expect(apex.speed(c.S)).toBeCloseTo(c.Sv, 10)
      expect(apex.aperture(c.N) + apex.time(c.t) - apex.speed(c.S)).toBeCloseTo(c.Bv, 10)
      expect(luminanceOfEv100(ev100Of(setting)) / c['metered_L']).toBeCloseTo(1, 10)
      // H·S at the metered luminance is 0.65·12.5 = 8.125 lx·s for every setting; headroom 9.6.
      expect(sensorExposure(c['metered_L'], c.N, c.t) * c.S).toBeCloseTo(8.125, 10)
      expect(saturationLuminance(setting) / c['Lsat']).toBeCloseTo(1, 10)
      expect(saturationLuminance(setting) / c['metered_L']).toBeCloseTo(9.6, 10)
    }
  })

  it('keeps Exif’s brightness apart from K = 12.5: 3.42626 cd/m² at 0, 0.22 EV from what EV100 = Bv + 5 says', () => {
    expect(luminanceOfBrightnessValue(0)).toBeCloseTo(3.42626, 5)
    expect(brightnessValueOf(luminanceOfBrightnessValue(-3.3))).toBeCloseTo(-3.3, 12)
    expect(Math.log2(luminanceOfEv100(5) / luminanceOfBrightnessValue(0))).toBeCloseTo(0.22, 2)
  })

  // Times in seconds at ISO 100 as photographers' tables round them; computed from the definition, common practice.
  it.each([
    [1.7, { 8: 1 / 89, 5: 1 / 11, 4: 0.18, 3: 0.36, 2: 0.72, 1: 1.4, 0: 2.9, [-3]: 23 }],
    [2.8, { 8: 1 / 33, 5: 0.25, 4: 0.49, 3: 0.98, 2: 2, 1: 3.9, 0: 7.8, [-3]: 63 }],
  ])('at f/%f the night’s shutter times are within a twentieth of a stop of the printed ones', (n, times) => {
    let worst = 0
    for (const [ev, seconds] of Object.entries(times))
      worst = Math.max(worst, Math.abs(Math.log2(secondsFor(Number(ev), n, 100) / seconds)))
    console.log(`shutter times at f/${n}: worst ${worst.toFixed(3)} stop`)
    expect(worst).toBeLessThan(0.05)
  })

  it('reproduces published shutter times of the table’s subjects within a third of a stop', () => {
    // A landscape under the full moon, f/2.8, ISO 100: "30 to 60 s" (EV −2 to −3; the guide's own level at f/2.8 is 31.4
    // to 62.7 s). Floodlit buildings f/4, ISO 100: "1/2 to 2 s" (EV 5 to 3). Bright streets f/4: 1/16 s. Times that the
    // guide's levels mean, rounded to the dial, common practice.
    const rows = [
      ['full-moon', 2.8, 31, 63],
      ['floodlit', 4, 0.5, 2],
      ['bright-streets', 4, 1 / 15, 1 / 15],
      ['traffic', 4, 0.5, 0.5],
      ['distant', 4, 4, 4],
      ['signs', 4, 1 / 60, 1 / 30],
    ] as const
    for (const [id, n, shortest, longest] of rows) {
      const s = subjectById(id)!
      expect(Math.abs(Math.log2(secondsFor(s.highEv100, n, 100) / shortest)), id).toBeLessThan(1 / 3)
      expect(Math.abs(Math.log2(secondsFor(s.lowEv100, n, 100) / longest)), id).toBeLessThan(1 / 3)
    }
  })

  it('knows its subjects by name, each with a level inside its range', () => {
    for (const s of [...subjects, ...moonlitSubjects]) {
      expect(subjectById(s.id)).toBe(s)
      expect(levelOf(s)).toBeGreaterThanOrEqual(s.lowEv100)
      expect(levelOf(s)).toBeLessThanOrEqual(s.highEv100)
    }
    expect(subjectById('nothing such')).toBeNull()
  })
})

describe('the dial', () => {
  // Nominal and exact times: 1/60 is 1/64, 1/125 is 1/128, 15 s is 16 s, 30 s is 32 s; 0.6 s is 0.63 s.
  it.each([
    [1 / 60, 1 / 64],
    [1 / 125, 1 / 128],
    [1 / 8000, 1 / 8192],
    [1, 1],
    [15, 16],
    [30, 32],
    [0.6, 0.63],
    [0.3, 0.315],
    [1.3, 1.26],
  ])('names %f s', (nominal, exact) => {
    const step = shutterSeries.find((s) => s.nominalSeconds === nominal)!
    expect(step.exactSeconds).toBeCloseTo(exact, 3)
    expect(nominalSeconds(step.exactSeconds)).toBe(nominal)
  })

  it('is never off its name by more than a tenth of a stop', () => {
    for (const { nominalSeconds: name, exactSeconds } of shutterSeries)
      expect(Math.abs(Math.log2(name / exactSeconds))).toBeLessThan(0.1)
  })

  it('rises', () => {
    for (let i = 1; i < shutterSeries.length; i++)
      expect(shutterSeries[i]!.nominalSeconds).toBeGreaterThan(shutterSeries[i - 1]!.nominalSeconds)
  })

  it('names any time, off the dial by its own figure', () => {
    fc.assert(
      fc.property(fc.double({ min: 1e-5, max: 300, noNaN: true }), (seconds) => {
        expect(Math.abs(Math.log2(nominalSeconds(seconds) / seconds))).toBeLessThan(0.2)
      }),
    )
    expect(nominalSeconds(45)).toBe(45)
  })
})
