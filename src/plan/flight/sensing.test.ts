import { describe, expect, it } from 'vitest'
import { sensingBlindFrom } from './sensing.ts'

const run = (...lux: number[]) => lux.map((l, i) => ({ at: i * 60_000, lux: l }))

describe('when obstacle sensing goes blind', () => {
  it('is where the light crosses 10 lux, on a logarithm’s straight line', () => {
    expect(sensingBlindFrom(run(1000, 100, 1, 0.1)).from).toBeCloseTo(90_000, 6)
    expect(sensingBlindFrom(run(40, 20, 10, 5), 20).from).toBe(60_000)
    expect(sensingBlindFrom(run(100, 0)).from).toBeGreaterThan(0)
  })

  it('is the last crossing, so that a cloud is not taken for the night', () => {
    expect(sensingBlindFrom(run(100, 5, 100, 1)).from).toBeCloseTo(150_000, 6)
  })

  it('may be never or always, with the reason', () => {
    expect(sensingBlindFrom(run(100, 50))).toMatchObject({ from: null, why: 'bright-all-along' })
    expect(sensingBlindFrom(run(5, 1))).toMatchObject({ from: null, why: 'blind-all-along' })
    expect(sensingBlindFrom([])).toMatchObject({ from: null, why: 'light-not-known' })
    expect(() => sensingBlindFrom(run(5, Number.NaN))).toThrow('lux')
  })
})
