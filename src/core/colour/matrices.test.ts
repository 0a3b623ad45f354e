import { readFileSync } from 'node:fs'
import { describe, expect, it } from 'vitest'
import type { Matrix3, Triple } from '#core/base'
import { adaptWhite } from './adapt.ts'
import {
  bradfordD50ToD65,
  bradfordD65ToD50,
  bt2020Space,
  p3Space,
  rgbToXyz,
  srgbToXyzD50,
  srgbToXyzD65,
  xyzD50ToSrgb,
  xyzD65ToSrgb,
} from './primaries.ts'
import { pcsD50, whiteD50, whiteD65 } from './white.ts'

const truth = JSON.parse(readFileSync(new URL('../../../truth/colour/reference.json', import.meta.url), 'utf8'))

const worst = (a: readonly number[], b: readonly number[]) => Math.max(...a.map((v, i) => Math.abs(v - b[i]!)))

describe('colour matrices', () => {
  it.each<[string, Matrix3, number[][]]>([
    ['sRGB → XYZ under D65', srgbToXyzD65, truth.srgb_to_xyz_d65],
    ['XYZ under D65 → sRGB', xyzD65ToSrgb, truth.xyz_d65_to_srgb],
    ['sRGB → XYZ under D50', srgbToXyzD50, truth.srgb_to_xyz_d50],
    ['XYZ under D50 → sRGB', xyzD50ToSrgb, truth.xyz_d50_to_srgb],
    ['Bradford D65 → D50', bradfordD65ToD50, truth.bradford_D65_D50],
    ['Bradford D50 → D65', bradfordD50ToD65, truth.bradford_D50_D65],
    ['Bradford A → D50', adaptWhite([0.44757, 0.40745], [0.3457, 0.3585]), truth.bradford_A_D50],
  ])('%s agrees with the reference to ten digits', (name, matrix, expected) => {
    const off = worst(matrix, expected.flat())
    console.log(`${name}: worst entry off by ${off.toExponential(1)}`)
    expect(off).toBeLessThan(5e-11)
  })

  it('white points have the XYZ of their four-digit chromaticities', () => {
    expect(worst(whiteD50, truth.whites.D50)).toBeLessThan(1e-14)
    expect(worst(whiteD65, truth.whites.D65)).toBeLessThan(1e-14)
    expect(pcsD50).toEqual(truth.whites.ICC_D50 as Triple)
  })

  // CSS Color 4, section 18 (sample code), prints these matrices as exact fractions.
  it.each<[string, Matrix3, number[]]>([
    [
      'P3',
      rgbToXyz(p3Space),
      [
        608311 / 1250200,
        189793 / 714400,
        198249 / 1000160,
        35783 / 156275,
        247089 / 357200,
        198249 / 2500400,
        0,
        32229 / 714400,
        5220557 / 5000800,
      ],
    ],
    [
      'BT.2020',
      rgbToXyz(bt2020Space),
      [
        63426534 / 99577255,
        20160776 / 139408157,
        47086771 / 278816314,
        26158966 / 99577255,
        472592308 / 697040785,
        8267143 / 139408157,
        0,
        19567812 / 697040785,
        295819943 / 278816314,
      ],
    ],
  ])('%s → XYZ is the printed fraction', (_, matrix, expected) => {
    expect(worst(matrix, expected)).toBeLessThan(1e-14)
  })

  it('adaptation there and back is the identity, and a white goes exactly to the other white', () => {
    const a = adaptWhite([0.45, 0.41], [0.3127, 0.329])
    const x = [0.45 / 0.41, 1, 0.14 / 0.41] as const
    const at = (m: Matrix3, r: number) => m[3 * r]! * x[0] + m[3 * r + 1]! * x[1] + m[3 * r + 2]! * x[2]
    expect(worst([at(a, 0), at(a, 1), at(a, 2)], whiteD65)).toBeLessThan(1e-14)
  })
})
