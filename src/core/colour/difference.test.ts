import { readFileSync } from 'node:fs'
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { apply3, type Triple } from '#core/base'
import { deltaE2000 } from './ciede2000.ts'
import { labFromXyz, xyzFromLab } from './lab.ts'
import { linearSrgbFromOklab, oklabFromLinearSrgb } from './oklab.ts'
import { xyzD50ToSrgb, xyzD65ToSrgb } from './primaries.ts'
import { encodeSrgb } from './srgb.ts'

const read = (name: string) =>
  JSON.parse(readFileSync(new URL(`../../../truth/colour/${name}`, import.meta.url), 'utf8'))
const pairs: { n: number; lab1: Triple; lab2: Triple; published: number }[] = read('ciede2000.json').pairs
const patches: { i: number; lab_d50: Triple; xyz_d50: Triple; srgb: Triple; srgb8: Triple }[] =
  read('patches24.json').patches

const worst = (a: readonly number[], b: readonly number[]) => Math.max(...a.map((v, i) => Math.abs(v - b[i]!)))
const unit = fc.double({ min: 0, max: 1, noNaN: true })

describe('colour difference', () => {
  it.each(pairs)('pair $n of Sharma, Wu, Dalal 2005 is $published', ({ n, lab1, lab2, published }) => {
    // Pair 14 stands on the formula's discontinuity: either printed neighbour is right.
    const allowed = n === 14 ? [4.8045, 4.7461] : [published]
    for (const [a, b] of [
      [lab1, lab2],
      [lab2, lab1],
    ] as const)
      expect(allowed.map((v) => v.toFixed(4))).toContain(deltaE2000(a, b).toFixed(4))
  })

  it('is 0 between equal colours and the same both ways', () => {
    const lab = fc.tuple(unit, unit, unit).map(([l, a, b]): Triple => [100 * l, 200 * a - 100, 200 * b - 100])
    fc.assert(
      fc.property(lab, lab, (a, b) => {
        expect(deltaE2000(a, a)).toBe(0)
        expect(deltaE2000(a, b)).toBeCloseTo(deltaE2000(b, a), 9)
      }),
    )
  })
})

describe('L*a*b*', () => {
  it('of the 24-patch chart gives the published XYZ and sRGB', () => {
    let offXyz = 0
    let offSrgb = 0
    for (const p of patches) {
      const xyz = xyzFromLab(p.lab_d50)
      offXyz = Math.max(offXyz, worst(xyz, p.xyz_d50))
      offSrgb = Math.max(offSrgb, worst(apply3(xyzD50ToSrgb, xyz).map(encodeSrgb), p.srgb))
    }
    console.log(`24 patches: XYZ off by ${offXyz.toExponential(1)}, encoded sRGB by ${offSrgb.toExponential(1)}`)
    expect(offXyz).toBeLessThan(1e-6)
    expect(offSrgb).toBeLessThan(1e-5)
  })

  it('comes back from XYZ unchanged, dark colours too', () => {
    fc.assert(
      fc.property(unit, unit, unit, (x, y, z) => {
        expect(worst(xyzFromLab(labFromXyz([x, y, z])), [x, y, z])).toBeLessThan(1e-12)
      }),
    )
  })
})

describe('Oklab', () => {
  // Ottosson 2020, "Table of example XYZ and Oklab pairs"; three decimals.
  it.each<[Triple, Triple]>([
    [
      [0.95, 1, 1.089],
      [1, 0, 0],
    ],
    [
      [1, 0, 0],
      [0.45, 1.236, -0.019],
    ],
    [
      [0, 1, 0],
      [0.922, -0.671, 0.263],
    ],
    [
      [0, 0, 1],
      [0.153, -1.415, -0.449],
    ],
  ])('of XYZ %j is %j', (xyz, lab) => {
    expect(worst(oklabFromLinearSrgb(apply3(xyzD65ToSrgb, xyz)), lab)).toBeLessThan(0.001)
  })

  it('comes back to linear sRGB within 1e-6, also for colours outside the space', () => {
    const wide = fc.double({ min: -0.5, max: 1.5, noNaN: true })
    let off = 0
    fc.assert(
      fc.property(wide, wide, wide, (r, g, b) => {
        off = Math.max(off, worst(linearSrgbFromOklab(oklabFromLinearSrgb([r, g, b])), [r, g, b]))
        expect(off).toBeLessThan(1e-6)
      }),
    )
    console.log(`Oklab round trip: worst ${off.toExponential(1)}`)
  })
})
