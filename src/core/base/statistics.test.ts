import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { median, quantile } from './statistics.ts'

/** By the definition: finite values in order, linear between them. */
function byOrder(values: readonly number[], q: number): number {
  const all = values.filter(Number.isFinite).sort((a, b) => a - b)
  if (all.length === 0) return Number.NaN
  const at = q * (all.length - 1)
  const [low, high] = [Math.floor(at), Math.min(Math.floor(at) + 1, all.length - 1)]
  return all[low]! + (all[high]! - all[low]!) * (at - low)
}

describe('order statistics', () => {
  const lists = fc.array(
    fc.oneof(fc.double({ min: -1e6, max: 1e6 }), fc.integer({ min: -3, max: 3 }), fc.constant(Number.NaN)),
    { maxLength: 200 },
  )

  it('are those of the sorted finite values, for any values and any share', () => {
    let worst = 0
    fc.assert(
      fc.property(lists, fc.double({ min: 0, max: 1, noNaN: true }), (values, q) => {
        const [found, wanted] = [quantile(values, q), byOrder(values, q)]
        if (Number.isNaN(wanted)) expect(found).toBeNaN()
        else worst = Math.max(worst, Math.abs(found - wanted))
        const middle = byOrder(values, 0.5)
        if (Number.isNaN(middle)) expect(median(values)).toBeNaN()
        else worst = Math.max(worst, Math.abs(median(values) - middle))
      }),
      { numRuns: 2000 },
    )
    console.log(`quantiles against sorting: worst difference ${worst}`)
    expect(worst).toBeLessThan(1e-9)
  })

  it('come out of orders that defeat a choice of pivots too, and leave the values as they were', () => {
    const n = 50_001
    const orders: Record<string, (i: number) => number> = {
      rising: (i) => i,
      falling: (i) => n - i,
      'up and down': (i) => Math.min(i, n - i),
      'all alike': () => 7,
      'two values': (i) => i % 2,
      interleaved: (i) => (i % 2 === 0 ? i : n + i),
    }
    for (const [name, of] of Object.entries(orders)) {
      const values = Float64Array.from({ length: n }, (_, i) => of(i))
      const before = values.slice()
      expect(median(values), name).toBe(byOrder([...values], 0.5))
      expect(values, name).toEqual(before)
    }
  })
})
