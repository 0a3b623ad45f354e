import { describe, expect, it } from 'vitest'
import { EARTH_RADIUS_METRES, horizonDipDegrees, horizonDipSeenDegrees } from './horizon.ts'

describe('the dip of the horizon', () => {
  it('from 120 m is 21.10 minutes by geometry and 19.28 as seen (navigators’ rule, common practice)', () => {
    expect(horizonDipDegrees(120) * 60).toBeCloseTo(21.1, 2)
    expect(horizonDipSeenDegrees(120) * 60).toBeCloseTo(19.28, 2)
  })

  it('is the closed form, also close to the water, and grows with height', () => {
    expect(horizonDipDegrees(0)).toBe(0)
    for (const h of [1000, 10_000, 100_000]) {
      const closed = (Math.acos(EARTH_RADIUS_METRES / (EARTH_RADIUS_METRES + h)) * 180) / Math.PI
      expect(horizonDipDegrees(h)).toBeCloseTo(closed, 7)
    }
    expect(horizonDipDegrees(1e-6)).toBeGreaterThan(0)
    expect(() => horizonDipDegrees(-1)).toThrow('flight-fact-unusable')
  })
})
