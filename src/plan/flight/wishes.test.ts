import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { Wishes } from './wishes.ts'

const granting = (all: number[]) => {
  const wishes = new Wishes(8)
  all.forEach((w, i) => {
    wishes.add(i, w)
  })
  return wishes
}

/** The least sum of absolute deviations of a rising sequence, over every choice of levels from the wishes themselves: one of those is best. */
function bySearch(all: number[]): number {
  const levels = [...new Set(all)].sort((a, b) => a - b)
  let best = levels.map(() => 0)
  for (const wish of all) {
    let soFar = Number.POSITIVE_INFINITY
    best = levels.map((level, i) => {
      soFar = Math.min(soFar, best[i]!)
      return soFar + Math.abs(wish - level)
    })
  }
  return Math.min(...best)
}

describe('wishes granted in order', () => {
  it('are granted whole when they rise, and at their median when they fall', () => {
    expect([...granting([1, 2, 5]).granted(3)]).toEqual([1, 2, 5])
    expect([...granting([5, 3, 1]).granted(3)]).toEqual([3, 3, 3])
    // For the two in the wrong order any moment from 4 to 5 is as good; the earliest is taken.
    expect([...granting([1, 9, 4, 5, 20]).granted(5)]).toEqual([1, 4, 4, 5, 20])
    expect(granting([]).deviation(0)).toBe(0)
  })

  it('deviate as little as any rising sequence can, at every length on the way', () => {
    fc.assert(
      fc.property(fc.array(fc.integer({ min: -20, max: 20 }), { minLength: 1, maxLength: 8 }), (all) => {
        const wishes = granting(all)
        for (let n = 1; n <= all.length; n++) {
          const granted = [...wishes.granted(n)]
          expect(granted).toEqual([...granted].sort((a, b) => a - b))
          expect(wishes.deviation(n)).toBe(bySearch(all.slice(0, n)))
        }
      }),
      { numRuns: 500 },
    )
  })
})
