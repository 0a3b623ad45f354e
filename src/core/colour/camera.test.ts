import { readFileSync } from 'node:fs'
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { apply3, type Triple } from '#core/base'
import { type ColourCalibration, cameraToLinearSrgb, neutralGainsOnly } from './camera.ts'
import { whiteD50 } from './white.ts'

const truth = JSON.parse(readFileSync(new URL('../../../truth/dng-colour-chain/cases.json', import.meta.url), 'utf8'))

const bare: ColourCalibration = {
  illuminant1: 17,
  illuminant2: 21,
  colorMatrix1: truth.ColorMatrix1.flat(),
  colorMatrix2: truth.ColorMatrix2.flat(),
  forwardMatrix1: null,
  forwardMatrix2: null,
  cameraCalibration1: null,
  cameraCalibration2: null,
  analogBalance: null,
  asShotNeutral: null,
  asShotWhiteXY: null,
}
const forward: ColourCalibration = {
  ...bare,
  forwardMatrix1: truth.ForwardMatrix1_raw.flat(),
  forwardMatrix2: truth.ForwardMatrix2_raw.flat(),
}

const worst = (a: readonly number[], b: readonly number[]) => Math.max(...a.map((v, i) => Math.abs(v - b[i]!)))
const colour = (c: ColourCalibration, neutral?: readonly number[]) => cameraToLinearSrgb(c, neutral)!

describe('camera colour', () => {
  // biome-ignore lint/suspicious/noExplicitAny: rows of a JSON table of reference values.
  it.each<any>(truth.cases)('of neutral $asShotNeutral agrees with the worked case to ten digits', (row) => {
    for (const [calibration, key] of [
      [bare, 'cm'],
      [forward, 'fm'],
    ] as const) {
      const c = colour({ ...calibration, asShotNeutral: row.asShotNeutral })
      expect(c.passes).toBe(row.iterations)
      expect(worst(c.xy, row.xy)).toBeLessThan(1e-12)
      expect(c.cct).toBeCloseTo(row.cct, 7)
      expect(c.tint).toBeCloseTo(row.tint, 7)
      expect(worst(c.neutral, row.cameraWhite)).toBeLessThan(1e-12)
      const matrix = key === 'cm' ? row.camToXYZ50_colorMatrixOnly : row.camToXYZ50_forward
      expect(worst(c.cameraToXyzD50, matrix.flat())).toBeLessThan(1e-10)
      expect(worst(apply3(c.cameraToXyzD50, row.sample_cam), row[`sample_xyz50_${key}`])).toBeLessThan(1e-10)
      expect(worst(apply3(c.cameraToXyzD50, c.neutral), row[`check_neutral_to_D50_${key}`])).toBeLessThan(1e-12)
    }
    const c = colour({ ...forward, asShotNeutral: row.asShotNeutral })
    expect(worst(apply3(c.cameraToLinearSrgb, row.sample_cam), row.sample_srgb_linear_fm)).toBeLessThan(1e-10)
  })

  it('sends whatever neutral is asked for to white, by both paths, with balance and calibration in play', () => {
    const part = fc.double({ min: 0.25, max: 1, noNaN: true })
    fc.assert(
      fc.property(part, part, fc.boolean(), (r, b, useForward) => {
        const c = colour(
          {
            ...(useForward ? forward : bare),
            analogBalance: [1.1, 1, 0.9],
            cameraCalibration1: [1.02, 0, 0, 0, 1, 0, 0, 0, 0.97],
            cameraCalibration2: [1.01, 0.01, 0, 0, 1, 0, 0, -0.01, 0.99],
          },
          [r, 1, b],
        )
        expect(worst(apply3(c.cameraToXyzD50, c.neutral), whiteD50)).toBeLessThan(1e-9)
        expect(worst(apply3(c.cameraToLinearSrgb, c.neutral), [1, 1, 1])).toBeLessThan(1e-9)
        // The iteration has found the neutral's chromaticity: its camera white is the neutral.
        expect(worst(c.neutral, [r, 1, b])).toBeLessThan(1e-5)
        expect(c.whiteSource).toBe('given')
      }),
    )
  })

  it('does not depend on the scale of the neutral, nor on which calibration comes first', () => {
    const a = colour(forward, [0.55, 1, 0.6])
    const scaled = colour(forward, [0.22, 0.4, 0.24])
    const swapped = colour(
      {
        ...forward,
        illuminant1: 21,
        illuminant2: 17,
        colorMatrix1: forward.colorMatrix2,
        colorMatrix2: forward.colorMatrix1,
        forwardMatrix1: forward.forwardMatrix2,
        forwardMatrix2: forward.forwardMatrix1,
      },
      [0.55, 1, 0.6],
    )
    expect(worst(a.cameraToLinearSrgb, scaled.cameraToLinearSrgb)).toBeLessThan(1e-12)
    expect(worst(a.cameraToLinearSrgb, swapped.cameraToLinearSrgb)).toBeLessThan(1e-12)
  })

  it('of a file with one calibration uses that one alone, whichever place it stands in', () => {
    const first = colour({ ...forward, colorMatrix2: null, forwardMatrix2: null }, [0.55, 1, 0.6])
    const second = colour(
      {
        ...forward,
        colorMatrix1: null,
        forwardMatrix1: null,
        colorMatrix2: forward.colorMatrix1,
        forwardMatrix2: forward.forwardMatrix1,
      },
      [0.55, 1, 0.6],
    )
    const unknownLight = colour({ ...forward, illuminant2: 255 }, [0.55, 1, 0.6])
    expect(first.cameraToXyzD50).toEqual(second.cameraToXyzD50)
    expect(first.cameraToXyzD50).toEqual(unknownLight.cameraToXyzD50)
    expect(first.passes).toBe(2)
  })

  it('takes white from the neutral, else the chromaticity, else D55, and says which', () => {
    const xy = colour({ ...forward, asShotWhiteXY: [0.3127, 0.329] })
    expect([xy.whiteSource, ...xy.xy]).toEqual(['file-chromaticity', 0.3127, 0.329])
    const none = colour(forward)
    expect([none.whiteSource, ...none.xy]).toEqual(['assumed-d55', 0.3324, 0.3474])
    expect(colour({ ...forward, asShotNeutral: [0.5, 1, 0.6] }).whiteSource).toBe('file-neutral')
    expect(worst(apply3(xy.cameraToXyzD50, xy.neutral), whiteD50)).toBeLessThan(1e-12)
  })

  it('is null without a usable colour matrix; gains alone then send the neutral to white', () => {
    const neutral = [0.5, 1, 0.8]
    for (const colorMatrix1 of [
      null,
      [],
      [1, 2, 3],
      new Array(9).fill(0),
      new Array(9).fill(Number.NaN),
      new Array(12).fill(1),
    ])
      expect(cameraToLinearSrgb({ ...bare, colorMatrix1, colorMatrix2: null, asShotNeutral: neutral })).toBeNull()
    const gains = neutralGainsOnly({ ...bare, asShotNeutral: neutral })
    expect(apply3(gains, neutral as unknown as Triple)).toEqual([1, 1, 1])
    expect(neutralGainsOnly(bare)).toEqual([1, 0, 0, 0, 1, 0, 0, 0, 1])
  })

  it('is null or finite for any numbers a file may hold', () => {
    const nine = fc.option(fc.array(fc.double({ min: -10, max: 10 }), { minLength: 9, maxLength: 9 }))
    const three = fc.option(fc.array(fc.double({ min: -1, max: 10 }), { minLength: 3, maxLength: 3 }))
    const code = fc.option(fc.integer({ min: 0, max: 30 }))
    fc.assert(
      fc.property(
        fc.record({
          illuminant1: code,
          illuminant2: code,
          colorMatrix1: nine,
          colorMatrix2: nine,
          forwardMatrix1: nine,
          forwardMatrix2: nine,
          cameraCalibration1: nine,
          cameraCalibration2: nine,
          analogBalance: three,
          asShotNeutral: three,
          asShotWhiteXY: fc.option(fc.array(fc.double(), { minLength: 2, maxLength: 2 })),
        }),
        (c) => {
          const result = cameraToLinearSrgb(c)
          if (result) expect([...result.cameraToLinearSrgb, ...result.neutral].every(Number.isFinite)).toBe(true)
        },
      ),
      { numRuns: 2000 },
    )
  })
})
