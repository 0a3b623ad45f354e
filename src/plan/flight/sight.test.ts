import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { allFinite, anyNumber, anyView, lens, lock } from './flight.fixture.ts'
import { footprintOf } from './framing.ts'
import { placeAt } from './geodesic.ts'
import { bodyInFrame, sightOf } from './sight.ts'

const north = (heightMetres: number, tiltDegrees: number) => ({
  position: lock,
  heightMetres,
  headingDegrees: 0,
  tiltDegrees,
})
const target = (azimuth: number, metres: number, heightMetres = 0) => ({
  name: 'mill',
  position: placeAt(lock, azimuth, metres),
  heightMetres,
})

describe('a target in the frame', () => {
  it('stands in the middle, with F/depth pixels a metre, when the axis points at it', () => {
    const seen = sightOf(target(0, 100), north(100, -45), lens)
    expect(seen.bearingDegrees).toBeCloseTo(0, 6)
    expect(seen.depressionDegrees).toBeCloseTo(45, 3)
    expect(seen.slantMetres).toBeCloseTo(Math.SQRT2 * 100, 2)
    expect(seen.point!.xPixels).toBeCloseTo(2016, 3)
    expect(seen.point!.yPixels).toBeCloseTo(1512, 1)
    expect(seen.pixelsPerMetre).toBeCloseTo(2822.4 / (Math.SQRT2 * 100), 3)
    expect(seen.inFrame).toBe(true)
  })

  it('stands right of the middle by F·tan, and nowhere when it is behind', () => {
    const seen = sightOf(target(30, 200, 50), north(50, 0), lens)
    expect(seen.point!.xPixels - 2016).toBeCloseTo(2822.4 * Math.tan(Math.PI / 6), 1)
    const behind = sightOf(target(180, 200, 50), north(50, 0), lens)
    expect(behind).toMatchObject({ inFrame: false, point: null, pixelsPerMetre: null })
    expect(sightOf(target(40, 200, 50), north(50, 0), lens).inFrame).toBe(false)
  })

  it('sinks with the earth’s curve: 0.0039° at 1 km', () => {
    const seen = sightOf(target(0, 1000, 50), north(50, 0), lens)
    expect(seen.depressionDegrees).toBeCloseTo(0.00391, 4)
  })

  it('is where the footprint says it is', () => {
    let worst = 0
    fc.assert(
      fc.property(anyNumber(20, 120), anyNumber(-90, -35), anyNumber(0, 360), (h, tilt, heading) => {
        const view = { position: lock, heightMetres: h, headingDegrees: heading, tiltDegrees: tilt }
        const corner = footprintOf(view, lens).corners[2]!
        const seen = sightOf({ name: 'corner', position: corner.coordinates, heightMetres: 0 }, view, lens)
        worst = Math.max(worst, Math.hypot(seen.point!.xPixels - 4032, seen.point!.yPixels - 3024))
      }),
    )
    console.log(`footprint and sight agree: worst ${worst.toFixed(3)} px (the earth's curve)`)
    expect(worst).toBeLessThan(0.1)
  })
})

describe('sun and moon against the frame', () => {
  const level = north(50, 0)

  it('are in the frame up to half the field, and outside by what is left', () => {
    const half = lens.fieldAcrossDegrees / 2
    const inside = bodyInFrame({ azimuthDegrees: half - 0.01, altitudeDegrees: 0 }, level, lens)
    expect(inside).toMatchObject({ inFrame: true, outsideDegrees: 0 })
    const outside = bodyInFrame({ azimuthDegrees: -half - 10, altitudeDegrees: 0 }, level, lens)
    expect(outside.inFrame).toBe(false)
    expect(outside.outsideDegrees).toBeCloseTo(10, 9)
    expect(outside.rightOfHeadingDegrees).toBeCloseTo(-half - 10, 9)
    expect(outside.offAxisDegrees).toBeCloseTo(half + 10, 9)
    const above = bodyInFrame({ azimuthDegrees: 0, altitudeDegrees: lens.fieldDownDegrees / 2 + 5 }, level, lens)
    expect(above.outsideDegrees).toBeCloseTo(5, 9)
    expect(above.aboveTiltDegrees).toBeCloseTo(lens.fieldDownDegrees / 2 + 5, 9)
  })

  it('behind the camera are far outside: no further off than the axis, no nearer than that less the half diagonal', () => {
    fc.assert(
      fc.property(anyView, anyNumber(-360, 360), anyNumber(-90, 90), (view, azimuthDegrees, altitudeDegrees) => {
        const seen = bodyInFrame({ azimuthDegrees, altitudeDegrees }, view, lens)
        expect(allFinite(seen)).toBe(true)
        expect(seen.outsideDegrees).toBeLessThanOrEqual(seen.offAxisDegrees + 1e-9)
        expect(seen.outsideDegrees).toBeGreaterThanOrEqual(seen.offAxisDegrees - lens.fieldDiagonalDegrees / 2 - 1e-9)
        expect(Math.abs(seen.rightOfHeadingDegrees)).toBeLessThanOrEqual(180)
      }),
      { numRuns: 500 },
    )
  })
})
