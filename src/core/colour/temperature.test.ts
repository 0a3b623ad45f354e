import { readFileSync } from 'node:fs'
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { chromaticityOf, mccamyKelvin, temperatureOf } from './temperature.ts'
import { type Chromaticity, white } from './white.ts'

type Row = { xy: Chromaticity; asDngReaders: [number, number]; corrected: [number, number]; mccamy: number }
const { cct } = JSON.parse(readFileSync(new URL('../../../truth/colour/reference.json', import.meta.url), 'utf8'))

describe('correlated colour temperature', () => {
  it.each(Object.entries<Row>(cct))('of %s agrees with the reference to 1e-6 K and tint', (_, row) => {
    const corrected = temperatureOf(row.xy)
    const printed = temperatureOf(row.xy, 'as-dng-readers')
    expect(corrected.kelvin).toBeCloseTo(row.corrected[0], 6)
    expect(corrected.tint).toBeCloseTo(row.corrected[1], 6)
    expect(printed.kelvin).toBeCloseTo(row.asDngReaders[0], 6)
    expect(printed.tint).toBeCloseTo(row.asDngReaders[1], 6)
    expect(mccamyKelvin(row.xy)).toBeCloseTo(row.mccamy, 6)
  })

  // Planckian u, v of Krystek 1985; the temperatures that each table reads from them.
  it.each([
    [3000, 2987.0, 3000.3],
    [3100, 3077.0, 3100.2],
  ])('of a %i K radiator reads %f K in files and %f K in truth', (kelvin, printed, corrected) => {
    const t = kelvin
    const u =
      (0.860117757 + 1.54118254e-4 * t + 1.28641212e-7 * t * t) / (1 + 8.42420235e-4 * t + 7.08145163e-7 * t * t)
    const v =
      (0.317398726 + 4.22806245e-5 * t + 4.20481691e-8 * t * t) / (1 - 2.89741816e-5 * t + 1.61456053e-7 * t * t)
    const s = 2 * u - 8 * v + 4
    const xy: Chromaticity = [(3 * u) / s, (2 * v) / s]
    expect(temperatureOf(xy, 'as-dng-readers').kelvin).toBeCloseTo(printed, 1)
    expect(temperatureOf(xy).kelvin).toBeCloseTo(corrected, 1)
  })

  it('is greener than a radiator for daylight and pinker for the equal-energy white', () => {
    expect(temperatureOf(white.D65).tint).toBeGreaterThan(5)
    expect(temperatureOf(white.E).tint).toBeLessThan(-5)
  })

  it('and tint give back the chromaticity they were read from, to 0.0001', () => {
    let worst = 0
    fc.assert(
      fc.property(
        fc.double({ min: 15, max: 590, noNaN: true }),
        fc.double({ min: -30, max: 30, noNaN: true }),
        fc.constantFrom('corrected' as const, 'as-dng-readers' as const),
        (mired, tint, table) => {
          const xy = chromaticityOf({ kelvin: 1e6 / mired, tint }, table)
          const back = chromaticityOf(temperatureOf(xy, table), table)
          worst = Math.max(worst, Math.abs(xy[0] - back[0]), Math.abs(xy[1] - back[1]))
          expect(worst).toBeLessThan(1e-4)
        },
      ),
    )
    console.log(`temperature and tint round trip: worst ${worst.toExponential(1)} in x, y`)
  })

  it('stays finite for chromaticities that no light has', () => {
    const any = fc.double({ min: 0.001, max: 0.998, noNaN: true })
    fc.assert(
      fc.property(any, any, (x, y) => {
        const t = temperatureOf([x, y])
        expect(Number.isFinite(t.kelvin) && Number.isFinite(t.tint)).toBe(true)
      }),
    )
  })
})
