import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { anyNumber } from './flight.fixture.ts'
import { defaultKeep, keepOdds, repeatsFor } from './keep-odds.ts'

describe('repeats for one keeper', () => {
  it('are 5, 9 and 14 at odds of 0.5, 0.3 and 0.2 for 95 %', () => {
    expect([0.5, 0.3, 0.2].map((p) => repeatsFor(p))).toEqual([5, 9, 14])
  })

  it('are one at 0.95 and above, and no number does at 0', () => {
    expect([repeatsFor(0.95), repeatsFor(1), repeatsFor(0.949), repeatsFor(0)]).toEqual([1, 1, 2, null])
  })

  it('are the fewest that do: one less would not reach 95 %', () => {
    fc.assert(
      fc.property(anyNumber(0.001, 1), (p) => {
        const n = repeatsFor(p)!
        expect(1 - (1 - p) ** n).toBeGreaterThanOrEqual(0.95 - 1e-9)
        if (n > 1) expect(1 - (1 - p) ** (n - 1)).toBeLessThan(0.95)
      }),
    )
  })
})

describe('the odds of keeping a frame', () => {
  it('by default are Rayleigh’s: 63 % when the smear expected is the smear allowed', () => {
    expect(defaultKeep(1)).toBeCloseTo(1 - Math.exp(-1), 12)
    expect(defaultKeep(2)).toBeCloseTo(0.2212, 4)
    expect(defaultKeep(0)).toBe(0.95)
    expect(defaultKeep(2, 2)).toBe(defaultKeep(1))
    expect(keepOdds(1, 1)).toEqual({ probability: defaultKeep(1), repeats: 3, basis: 'default', frames: 0 })
  })

  it('never rise with more smear', () => {
    fc.assert(
      fc.property(anyNumber(0, 50), anyNumber(0, 50), (s, more) => {
        expect(defaultKeep(s + more)).toBeLessThanOrEqual(defaultKeep(s))
        expect(defaultKeep(s)).toBeGreaterThan(0)
      }),
    )
  })

  it('are learnt from ten frames near the shutter time on, and say so', () => {
    const history = [
      { shutterSeconds: 1, kept: 12, taken: 36 },
      { shutterSeconds: 4, kept: 0, taken: 500 },
    ]
    const odds = keepOdds(1.3, 1, history)
    expect(odds).toMatchObject({ basis: 'learnt', frames: 36 })
    expect(odds.probability).toBeCloseTo((12 + 4 * defaultKeep(1)) / 40, 12)
    expect(keepOdds(0.25, 1, history)).toMatchObject({ basis: 'default', frames: 0 })
    expect(keepOdds(1, 1, [{ shutterSeconds: 1, kept: 9, taken: 9 }])).toMatchObject({ basis: 'default', frames: 9 })
  })

  it('refuse counts that are none', () => {
    expect(() => keepOdds(1, 1, [{ shutterSeconds: 1, kept: 5, taken: 4 }])).toThrow('kept')
    expect(() => keepOdds(1, Number.NaN)).toThrow('expectedSmearPixels')
  })
})
