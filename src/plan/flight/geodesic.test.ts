import { readFileSync } from 'node:fs'
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { angleBetween, offsetOf, placeAlong, placeAt, placeAtOffset, turn, wayBetween } from './geodesic.ts'

interface Rows {
  readonly inverse: readonly {
    readonly name: string
    readonly from: number[]
    readonly to: number[]
    readonly metres: number
    readonly azimuth?: number
    readonly arrivalAzimuth?: number
  }[]
  readonly direct: readonly {
    readonly from: number[]
    readonly azimuth: number
    readonly metres: number
    readonly to: number[]
  }[]
}
const rows: Rows = JSON.parse(readFileSync(new URL('../../../truth/geodesy/rows.json', import.meta.url), 'utf8'))
const at = ([latitude, longitude]: readonly number[]) => ({ latitude: latitude!, longitude: longitude! })
const place = fc.record({
  latitude: fc.double({ min: -90, max: 90, noNaN: true }),
  longitude: fc.double({ min: -180, max: 180, noNaN: true }),
})

describe('lines over the earth', () => {
  it('agree with published and computed distances to a hundredth of a millimetre and 2e-8°', () => {
    let worstMetres = 0
    let worstDegrees = 0
    for (const row of rows.inverse) {
      const way = wayBetween(at(row.from), at(row.to))
      worstMetres = Math.max(worstMetres, Math.abs(way.distanceMetres - row.metres))
      for (const [found, wanted] of [
        [way.azimuthDegrees, row.azimuth],
        [way.arrivalAzimuthDegrees, row.arrivalAzimuth],
      ] as const)
        if (wanted !== undefined) worstDegrees = Math.max(worstDegrees, angleBetween(found, wanted))
    }
    for (const row of rows.direct) {
      const end = placeAt(at(row.from), row.azimuth, row.metres)
      worstDegrees = Math.max(worstDegrees, Math.abs(end.latitude - row.to[0]!), Math.abs(end.longitude - row.to[1]!))
    }
    console.log(`geodesics: worst ${worstMetres.toExponential(1)} m, ${worstDegrees.toExponential(1)}°`)
    expect(worstMetres).toBeLessThan(1e-5)
    expect(worstDegrees).toBeLessThan(2e-8)
    expect(rows.inverse.length).toBeGreaterThan(7)
  })

  it('agree with the published angles of the classic survey line to a hundredth of a second', () => {
    const row = rows.inverse.find((r) => r.name.startsWith('Flinders'))!
    const way = wayBetween(at(row.from), at(row.to))
    const dms = (d: number, m: number, s: number) => d + m / 60 + s / 3600
    expect(angleBetween(way.azimuthDegrees, dms(306, 52, 5.37)) * 3600).toBeLessThan(0.01)
    expect(angleBetween(way.arrivalAzimuthDegrees + 180, dms(127, 10, 25.07)) * 3600).toBeLessThan(0.01)
    expect(Math.abs(way.distanceMetres - 54972.271)).toBeLessThan(0.0005)
  })

  it('are finite everywhere, the same both ways, and lead where they say', () => {
    let worst = 0
    fc.assert(
      fc.property(place, place, fc.double({ min: 0, max: 1, noNaN: true }), (a, b, part) => {
        const there = wayBetween(a, b)
        expect(Object.values(there).every(Number.isFinite)).toBe(true)
        expect(there.azimuthDegrees).toBeGreaterThanOrEqual(0)
        expect(there.azimuthDegrees).toBeLessThan(360)
        expect(Math.abs(there.distanceMetres - wayBetween(b, a).distanceMetres)).toBeLessThan(1e-6)
        const middle = placeAlong(a, b, there.distanceMetres * part)
        worst = Math.max(worst, Math.abs(wayBetween(a, middle).distanceMetres - there.distanceMetres * part))
      }),
      { numRuns: 500 },
    )
    console.log(`along a line: worst ${worst.toExponential(1)} m`)
    expect(worst).toBeLessThan(1e-6)
  })

  it('go back and forth between offsets and places', () => {
    fc.assert(
      fc.property(place, fc.integer({ min: -5000, max: 5000 }), fc.integer({ min: -5000, max: 5000 }), (o, e, n) => {
        const back = offsetOf(o, placeAtOffset(o, { eastMetres: e, northMetres: n }))
        expect(back.eastMetres).toBeCloseTo(e, 5)
        expect(back.northMetres).toBeCloseTo(n, 5)
      }),
      { numRuns: 300 },
    )
  })

  it('refuse what is no place on earth, by name', () => {
    const here = { latitude: 50, longitude: 14 }
    for (const latitude of [90.1, -91, Number.NaN, Number.POSITIVE_INFINITY])
      expect(() => wayBetween({ latitude, longitude: 0 }, here)).toThrow('latitude-out-of-range')
    expect(() => placeAt({ latitude: 0, longitude: 180.5 }, 0, 1)).toThrow('longitude-out-of-range')
    expect(() => placeAt(here, Number.NaN, 1)).toThrow('flight-fact-unusable')
    expect(() => placeAt(here, 0, -1)).toThrow('flight-fact-unusable')
  })

  it('measure angles in one turn', () => {
    expect([turn(-1e-20), turn(-90), turn(720), turn(359.5)]).toEqual([0, 270, 0, 359.5])
    expect([angleBetween(350, 10), angleBetween(10, 350), angleBetween(0, 180)]).toEqual([20, 20, 180])
  })
})
