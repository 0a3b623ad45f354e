import { describe, expect, it } from 'vitest'
import { decibels, exactly, percent } from './compare.ts'

describe('a comparison', () => {
  it('by the sample counts those that differ, and takes another length for another picture', () => {
    expect(exactly([1, 2, 3], [1, 2, 3])).toMatchObject({ value: 0, ok: true })
    expect(exactly([1, 2, 3], [1, 0, 0])).toMatchObject({ value: 2, ok: false })
    expect(exactly([1, 2, 3], [1, 2])).toMatchObject({ value: 3, ok: false })
    expect(exactly([1], [])).toMatchObject({ ok: false })
  })

  it('in decibels is 10 log10(peak² / mean square): the published pair of 64 × 64 pixels', () => {
    // a = floor(127.5 + 60 sin(2πx/16) + 40 cos(2πy/23) + 0.5) and a shifted by one: mean square 274.3515625, 23.74772923 dB.
    const a = Array.from({ length: 4096 }, (_, i) => {
      const [x, y] = [i % 64, Math.floor(i / 64)]
      return Math.floor(127.5 + 60 * Math.sin((2 * Math.PI * x) / 16) + 40 * Math.cos((2 * Math.PI * y) / 23) + 0.5)
    })
    const shifted = a.map((_, i) => a[i - (i % 64) + ((i + 63) % 64)]!)
    expect(decibels(a, shifted, 255).value).toBeCloseTo(23.75, 2)
    expect(decibels(a, a, 255)).toMatchObject({ value: 200, ok: true })
    expect(decibels(a, a.slice(1), 255)).toMatchObject({ value: 0, ok: false })
  })

  it('in percent is the worst of 99 of 100 samples, and what is no number is wrong', () => {
    const at = (share: number) =>
      percent(
        () => 1,
        (i) => (i < share * 1000 ? 1.5 : 1.01),
        1000,
      )
    expect(at(0.005)).toMatchObject({ value: 0.99, ok: true })
    expect(at(0.02).ok).toBe(false)
    expect(
      percent(
        () => 1,
        () => Number.NaN,
        10,
      ).ok,
    ).toBe(false)
    expect(
      percent(
        () => 0,
        () => 0,
        10,
      ),
    ).toMatchObject({ value: 0, ok: true })
  })
})
