import { readFileSync } from 'node:fs'
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { type LightModel, moonLux, naturalLight, sunLux } from './illuminance.ts'
import { magnitudesOfNanolamberts, moonlitLuminance, moonlitNanolamberts } from './moonlit-sky.ts'
import { apparentAltitude, horizonDip, refractionAtApparent, refractionAtTrue, refractionNoaa } from './refraction.ts'

const truth = JSON.parse(readFileSync(new URL('../../../truth/sky/natural-light.json', import.meta.url), 'utf8'))
const columns: Record<LightModel, string> = { A: 'c171', B: 'es1992', C: 'usno_cheb' }

/** No moon to speak of. */
const newMoon = { altitude: -40, elongation: 5, parallax: 0.951 }

describe('natural light', () => {
  it.each(['A', 'B', 'C'] as const)('model %s gives the printed digits for sun and moon', (model) => {
    let worst = 0
    for (const row of truth.sun) worst = Math.max(worst, Math.abs(sunLux(model, row.alt) / row[columns[model]] - 1))
    for (const row of truth.moon) {
      const ours = moonLux(model, { altitude: row.alt, elongation: row.elong, parallax: 0.951 })
      worst = Math.max(worst, Math.abs(ours / row[columns[model]] - 1))
    }
    console.log(`model ${model}: worst relative difference ${worst.toExponential(1)}`)
    expect(worst).toBeLessThan(1e-6)
  })

  it('stays inside the ranges that glossaries print for sunset and the end of civil twilight', () => {
    // AMS Glossary of Meteorology, "civil twilight": 585 to 410 lx at sunset, 3.5 to 2 lx at its end.
    for (const model of ['A', 'B', 'C'] as const) {
      expect(sunLux(model, -0.833)).toBeGreaterThan(410)
      expect(sunLux(model, -0.833)).toBeLessThan(585)
      expect(sunLux(model, -6)).toBeGreaterThan(2)
      expect(sunLux(model, -6)).toBeLessThan(3.5)
    }
  })

  it('falls with the sun without a break, in every model over its range', () => {
    let worstStep = 0
    for (const [model, low] of [
      ['A', -18],
      ['B', -18],
      ['C', -18],
    ] as const)
      for (let h = 60; h > low; h -= 0.05) {
        const [now, next] = [sunLux(model, h), sunLux(model, h - 0.05)]
        // The pieces of B meet to within the error stated for them, 0.03 in the logarithm.
        const slack = model === 'B' ? 1.03 : 1
        expect(next, `${model} at ${h}`).toBeLessThan(now * slack)
        worstStep = Math.max(worstStep, Math.log10(now / next))
      }
    console.log(`largest step of 0.05°: ${worstStep.toFixed(3)} in log₁₀`)
    expect(worstStep).toBeLessThan(0.06)
  })

  it('counts the night’s own light once', () => {
    const night = naturalLight({ sunAltitude: -30, moon: newMoon, cloud: 'clear', skyglowLux: 0 })
    // Starlight and airglow: 0.0005 to 0.002 lx are the values in print.
    expect(night.lux).toBeGreaterThan(0.0004)
    expect(night.lux).toBeLessThan(0.002)
    expect(night.luxLow).toBeGreaterThan(0.0004)
  })

  it('adds the moon, divides by cloud, and leaves skyglow alone', () => {
    const state = {
      sunAltitude: -20,
      moon: { altitude: 45, elongation: 180, parallax: 0.951 },
      skyglowLux: 0.5,
    } as const
    const [clear, dark] = (['clear', 'dark'] as const).map((cloud) => naturalLight({ ...state, cloud }).lux - 0.5)
    expect(clear! / dark!).toBeCloseTo(10, 6)
    // Full moon at 45°: 0.16 to 0.25 lx by the three models.
    expect(clear!).toBeGreaterThan(0.16)
    expect(clear!).toBeLessThan(0.27)
  })

  it('keeps low ≤ lux ≤ high, finite and positive, for any sky', () => {
    fc.assert(
      fc.property(
        fc.double({ min: -90, max: 90, noNaN: true }),
        fc.double({ min: -90, max: 90, noNaN: true }),
        fc.double({ min: 0, max: 180, noNaN: true }),
        fc.constantFrom('clear', 'thin', 'average', 'dark' as const),
        (sunAltitude, altitude, elongation, cloud) => {
          const moon = { altitude, elongation, parallax: 0.951 }
          const { lux, luxLow, luxHigh } = naturalLight({ sunAltitude, moon, cloud, skyglowLux: 0 })
          expect(luxLow > 0 && luxLow <= lux && lux <= luxHigh && Number.isFinite(luxHigh)).toBe(true)
        },
      ),
    )
  })
})

describe('the moonlit sky', () => {
  // Krisciunas, Schaefer 1991; the first row is the worked example of a public implementation (19.855).
  it.each([
    [20, 70, 50, 45, 0.15, 389.516, 19.8548],
    [0, 60, 60, 0, 0.172, 1089.86, 18.7377],
    [0, 45, 45, 0, 0.172, 1586.03, 18.3304],
    [0, 60, 60, 90, 0.172, 99.1732, 21.3402],
    [45, 45, 90, 0, 0.172, 1155.71, 18.674],
    [0, 30, 30, 30, 0.172, 1150.83, 18.6786],
  ])('Z %i°, moon %i°, %i° apart, phase %i°, k %f: %f nL', (z, zm, rho, alpha, k, nl, magnitudes) => {
    const sky = { zenithDistance: z, moonZenithDistance: zm, separation: rho, phaseAngle: alpha, extinction: k }
    expect(Math.abs(moonlitNanolamberts(sky) / nl - 1)).toBeLessThan(5e-6)
    expect(magnitudesOfNanolamberts(moonlitNanolamberts(sky))).toBeCloseTo(magnitudes, 4)
    expect(moonlitLuminance(sky)).toBeCloseTo(3.1831e-6 * nl, 6)
  })
})

describe('refraction', () => {
  // Meeus, ch. 16, with the formulae of Bennett 1982 and Sæmundsson 1986; NOAA's solar calculator. Arcminutes.
  it.each([
    [-0.575, 42.8747, 34.4439, 34.4992],
    [-0.5, 41.6811, 33.6878, 33.6932],
    [0, 34.4775, 28.9819, 28.9167],
    [0.5, 28.7537, 25.0039, 25.0033],
    [1, 24.3291, 21.7439, 21.802],
    [2, 18.2161, 16.9257, 17.0209],
    [5, 9.8831, 9.6741, 9.5771],
    [10, 5.3915, 5.4077, 5.2873],
    [20, 2.7034, 2.7412, 2.6365],
    [30, 1.7173, 1.746, 1.6712],
    [45, 0.9948, 1.0127, 0.9672],
    [60, 0.5747, 0.5851, 0.5588],
    [85, 0.0861, 0.0872, 0.0847],
  ])('at %f°', (altitude, bennett, saemundsson, noaa) => {
    expect(refractionAtApparent(altitude)).toBeCloseTo(bennett, 4)
    expect(refractionAtTrue(altitude)).toBeCloseTo(saemundsson, 4)
    expect(refractionNoaa(altitude)).toBeCloseTo(noaa, 4)
  })

  it('Meeus’s example 16.a: 0.5° apparent is 1.246′ true; 33.246′ true has 24.618′', () => {
    expect(30 - refractionAtApparent(0.5)).toBeCloseTo(1.246, 3)
    expect(refractionAtTrue(33.246 / 60)).toBeCloseTo(24.618, 3)
  })

  it('lifts nothing that has set', () => {
    for (const h of [-0.9, -6, -12, -40]) expect(apparentAltitude(h)).toBe(h)
  })

  it('the horizon from 120 m drops 21.10′ by geometry and 19.28′ through the air', () => {
    expect(horizonDip(120, false) * 60).toBeCloseTo(21.1, 2)
    expect(horizonDip(120) * 60).toBeCloseTo(19.28, 2)
  })
})
