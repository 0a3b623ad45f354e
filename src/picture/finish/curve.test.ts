import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { luminanceOfZone, stopsAtZone, toneCurve, zoneOfLuminance } from './curve.ts'
import { ladder } from './look.ts'

const rungsOf = fc
  .array(fc.tuple(fc.double({ min: 0.01, max: 5, noNaN: true }), fc.double({ min: 0, max: 3, noNaN: true })), {
    minLength: 2,
    maxLength: 12,
  })
  .map((steps) => {
    let sceneStops = -9
    let zone = 0
    return steps.map(([dx, dy]) => {
      sceneStops += dx
      zone += dy
      return { sceneStops, zone }
    })
  })

describe('the tone ladder', () => {
  it('never falls between any rising rungs and never leaves their range', () => {
    fc.assert(
      fc.property(rungsOf, (rungs) => {
        const curve = toneCurve(rungs)
        const [first, last] = [rungs[0]!, rungs[rungs.length - 1]!]
        let before = Number.NEGATIVE_INFINITY
        for (let i = -10; i <= 400; i++) {
          const v = curve(first.sceneStops + ((last.sceneStops - first.sceneStops) * i) / 390)
          expect(v).toBeGreaterThanOrEqual(before - 1e-9)
          expect(v).toBeGreaterThanOrEqual(first.zone - 1e-9)
          expect(v).toBeLessThanOrEqual(last.zone + 1e-9)
          before = v
        }
      }),
      { numRuns: 300 },
    )
  })

  it('passes through its rungs', () => {
    fc.assert(
      fc.property(rungsOf, (rungs) => {
        const curve = toneCurve(rungs)
        for (const r of rungs) expect(curve(r.sceneStops)).toBeCloseTo(r.zone, 9)
      }),
    )
  })

  it('draws a straight line through rungs on a line', () => {
    const curve = toneCurve([0, 1, 2.5, 4].map((sceneStops) => ({ sceneStops, zone: 1 + 2 * sceneStops })))
    for (const x of [0.2, 0.9, 1.7, 3.3]) expect(curve(x)).toBeCloseTo(1 + 2 * x, 9)
  })

  it('by default rises everywhere from black to white with mid-grey at the anchor, for any blacks and lamps', () => {
    fc.assert(
      fc.property(
        fc.double({ min: -12, max: 0, noNaN: true }),
        fc.double({ min: 2.2, max: 9, noNaN: true }),
        (black, white) => {
          const rungs = ladder(black, white)
          rungs.slice(1).forEach((r, i) => {
            expect(r.sceneStops).toBeGreaterThan(rungs[i]!.sceneStops)
            expect(r.zone).toBeGreaterThan(rungs[i]!.zone)
          })
          const curve = toneCurve(rungs)
          expect(curve(0)).toBeCloseTo(5, 9)
          expect(curve(white)).toBeCloseTo(10, 9)
          expect(stopsAtZone(rungs, 5)).toBeCloseTo(0, 4)
        },
      ),
    )
  })
})

describe('zones', () => {
  it('are tenths of CIE L*: 18.4187 % is zone 5, white is zone 10 (CIE 15:2018)', () => {
    expect(luminanceOfZone(5)).toBeCloseTo(0.184187, 6)
    expect(luminanceOfZone(10)).toBe(1)
    expect(zoneOfLuminance(0.18)).toBeCloseTo(4.9496, 4)
    for (const zone of [0, 0.3, 0.8, 1.5, 7]) expect(zoneOfLuminance(luminanceOfZone(zone))).toBeCloseTo(zone, 9)
  })
})
