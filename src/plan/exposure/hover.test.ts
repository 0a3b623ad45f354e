import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { flickerLeft } from './flicker.ts'
import { hyperfocalMetres, sharpRange } from './focus.ts'
import { driftPixels, type Hover, hoverLimitSeconds, smearPixels, starTrailPixels, turnPixels } from './hover.ts'

/** Sensor 9.6 × 7.2 mm, 4032 × 3024 pixels, 6.72 mm: 2822.4 pixels of focal length. */
const F = 6.72 / (9.6 / 4032)

describe('smear of a hover', () => {
  it('has the handbook’s rows', () => {
    // Smear = tan(ωt)·f/p and v·t·f/(D·p) (common practice), to the printed digits.
    expect(turnPixels(0.05, 1, F)).toBeCloseTo(2.463, 3)
    expect(turnPixels(0.01, 2, F)).toBeCloseTo(0.985, 3)
    expect(driftPixels(0.05, 1, 100, F)).toBeCloseTo(1.411, 3)
    expect(driftPixels(0.1, 2, 60, F)).toBeCloseTo(9.408, 3)
    expect(starTrailPixels(1, F)).toBeCloseTo(0.2058, 4)
  })

  const hover = fc.record({
    driftMetresPerSecond: fc.double({ min: 0, max: 3, noNaN: true }),
    wanderDegreesPerSecond: fc.double({ min: 0, max: 2, noNaN: true }),
    subjectMetres: fc.double({ min: 1, max: 5000, noNaN: true }),
    focalPixels: fc.double({ min: 100, max: 20_000, noNaN: true }),
  })
  const budget = fc.double({ min: 0.1, max: 20, noNaN: true })

  it('limits the shutter to exactly the budget', () => {
    fc.assert(
      fc.property(hover, budget, (h, pixels) => {
        const limit = hoverLimitSeconds(h, pixels)
        if (limit < 3600) expect(smearPixels(h, limit) / pixels).toBeCloseTo(1, 5)
        else expect(smearPixels(h, limit)).toBeLessThanOrEqual(pixels)
      }),
    )
  })

  it('never allows a longer shutter with more drift, more wander, a nearer subject, a longer lens or a smaller budget', () => {
    const more = fc.double({ min: 1, max: 5, noNaN: true })
    fc.assert(
      fc.property(hover, budget, more, (h, pixels, k) => {
        const limit = hoverLimitSeconds(h, pixels)
        const worse: readonly [Hover, number][] = [
          [{ ...h, driftMetresPerSecond: h.driftMetresPerSecond * k }, pixels],
          [{ ...h, wanderDegreesPerSecond: h.wanderDegreesPerSecond * k }, pixels],
          [{ ...h, subjectMetres: h.subjectMetres / k }, pixels],
          [{ ...h, focalPixels: h.focalPixels * k }, pixels],
          [h, pixels / k],
        ]
        for (const [other, b] of worse) expect(hoverLimitSeconds(other, b)).toBeLessThanOrEqual(limit * (1 + 1e-6))
      }),
    )
  })

  it('refuses what is no hover', () => {
    const still = { driftMetresPerSecond: 0.05, wanderDegreesPerSecond: 0.01, subjectMetres: 100, focalPixels: F }
    for (const wrong of [{ subjectMetres: 0 }, { focalPixels: -1 }, { driftMetresPerSecond: Number.NaN }])
      expect(() => hoverLimitSeconds({ ...still, ...wrong }, 1)).toThrowError(/usage: hover-fact/)
    expect(() => hoverLimitSeconds(still, 0)).toThrowError(/usage: hover-fact/)
  })
})

describe('focus', () => {
  // H = f²/(N c) + f and its near and far limits (common practice), metres.
  it('has the handbook’s rows', () => {
    const fifty = { focalLengthMillimetres: 50, fNumber: 8, circleMillimetres: 0.03 }
    expect(hyperfocalMetres(fifty) * 1000).toBeCloseTo(10466.667, 3)
    expect(sharpRange(fifty, 5).near * 1000).toBeCloseTo(3389.371, 3)
    expect(sharpRange(fifty, 5).far * 1000).toBeCloseTo(9527.439, 3)
    const small = { focalLengthMillimetres: 6.72, fNumber: 1.7, circleMillimetres: (2 * 9.6) / 4032 }
    expect(hyperfocalMetres(small)).toBeCloseTo(5.587, 2)
    expect(sharpRange(small, 5).near).toBeCloseTo(2.6389, 2)
    expect(sharpRange(small, 6).far).toBe(Number.POSITIVE_INFINITY)
  })
})

describe('flicker', () => {
  // 64 % at 1/200 s and 17 % at 1/60 s under 100 Hz, under 1 % above half a second: |sinc|, computed (common practice).
  it('is what a whole number of periods takes out', () => {
    expect(flickerLeft(1 / 200, 50)).toBeCloseTo(0.64, 2)
    expect(flickerLeft(1 / 60, 50)).toBeCloseTo(0.17, 2)
    expect(flickerLeft(1 / 100, 50)).toBeCloseTo(0, 12)
    expect(flickerLeft(1 / 60, 60)).toBeCloseTo(0, 12)
    expect(flickerLeft(0.513, 50)).toBeLessThan(0.01)
    expect(flickerLeft(0, 50)).toBe(1)
  })
})
