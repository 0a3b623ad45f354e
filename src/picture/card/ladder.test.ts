import { describe, expect, it } from 'vitest'
import { ladderOf, roundingStops } from './ladder.ts'

const ladder = (...stops: number[]) => ladderOf(stops.map((s) => ({ stops: s, slackStops: 0.02 })))!

describe('the ladder of a bracket', () => {
  it('names the order of taking', () => {
    expect(ladder(-1, 0, 1).order).toBe('rising')
    expect(ladder(2, 1, 0, -1).order).toBe('falling')
    expect(ladder(0, -1, 1, -2, 2).order).toBe('middle-first')
    expect(ladder(0, -1, -2, 1, 2).order).toBe('middle-first')
    expect(ladder(1, 0, 2, -1, 3).order).toBe('middle-first')
    expect(ladder(0, -2, 2, -1, 1).order).toBe('mixed')
  })

  it('finds the step and the rungs without a frame', () => {
    expect(ladder(0, -0.7, 0.7)).toMatchObject({ stepStops: 0.7, missing: 0, unevenStops: 0 })
    expect(ladder(-2, -1, 1, 2)).toMatchObject({ stepStops: 1, missing: 1 })
    expect(ladder(-4, 0, 2, 4).missing).toBe(1)
  })

  it('is none where an exposure comes twice', () => {
    expect(ladderOf([0, 1, 0.05].map((stops) => ({ stops, slackStops: 0 })))).toBeNull()
  })

  it('allows for rounded exposure times: 0.3 s may stand for a third of a second, 1/6 s for 1/6.3 s', () => {
    expect(roundingStops(0.3)).toBeGreaterThan(Math.log2(1 / 3 / 0.3))
    expect(roundingStops(1 / 6)).toBeGreaterThan(Math.log2(6.3 / 6))
    expect(roundingStops(1 / 500)).toBeLessThan(0.002)
  })
})
