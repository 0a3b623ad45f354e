import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { decodeSrgb, encodeSrgb } from '#core/colour'
import { eightBits, resizePlane, resizePrint, sizeWithin } from './resize.ts'

const print = (width: number, height: number, light: (x: number, y: number) => number) => ({
  width,
  height,
  space: 'srgb' as const,
  data: Uint16Array.from({ length: width * height * 3 }, (_, i) => {
    const pixel = Math.floor(i / 3)
    return Math.round(65535 * encodeSrgb(light(pixel % width, Math.floor(pixel / width))))
  }),
})

describe('a print made smaller', () => {
  it('has the longer side asked for, keeps its shape, and is never made larger', () => {
    expect(sizeWithin({ width: 4000, height: 3000 }, 2048)).toEqual({ width: 2048, height: 1536 })
    expect(sizeWithin({ width: 3000, height: 4000 }, 1000)).toEqual({ width: 750, height: 1000 })
    expect(sizeWithin({ width: 400, height: 300 }, 4000)).toEqual({ width: 400, height: 300 })
    expect(sizeWithin({ width: 4000, height: 1 }, 100)).toEqual({ width: 100, height: 1 })
  })

  it('averages light and not codes: lines of black and white become half the light', () => {
    const made = resizePrint(
      print(200, 200, (x) => x % 2),
      50,
    )
    const middle = made.data[(25 * 50 + 25) * 3]!
    expect(decodeSrgb(middle / 65535)).toBeCloseTo(0.5, 3)
  })

  it('stays even where it was even, to half a code of 16 bits, and overshoots an edge by 4 % at most', () => {
    const even = resizePrint(
      print(123, 77, () => 0.18),
      50,
    )
    for (const code of even.data) expect(Math.abs(code - 65535 * encodeSrgb(0.18))).toBeLessThanOrEqual(1)
    const edge = resizePrint(
      print(160, 20, (x) => (x < 80 ? 0.2 : 0.6)),
      37,
    )
    const lights = [...edge.data].map((code) => decodeSrgb(code / 65535))
    const over = Math.max(...lights) / 0.6 - 1
    console.log(`overshoot at an edge of 1.6 stops: ${(100 * over).toFixed(2)} %`)
    expect(over).toBeLessThan(0.04)
  })

  it('of 16 bits keeps its mean in 8, to a hundredth of a code', () => {
    const image = print(256, 64, () => 0.05)
    const made = eightBits(image)
    const mean = made.data.reduce((n, v) => n + v, 0) / made.data.length
    expect(mean).toBeCloseTo(255 * encodeSrgb(0.05), 1)
    expect(new Set(made.data).size).toBe(2)
  })
})

describe('scene-linear light made smaller', () => {
  it('keeps its mean and never leaves the range of what it was made from', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 2, max: 40 }),
        fc.integer({ min: 1, max: 40 }),
        fc.integer({ min: 1, max: 39 }),
        fc.infiniteStream(fc.double({ min: -1, max: 1000, noNaN: true })),
        (width, height, side, values) => {
          const plane = Float32Array.from({ length: width * height }, () => values.next().value as number)
          const to = sizeWithin({ width, height }, side)
          const made = resizePlane(plane, { width, height }, to)
          const [low, high] = [Math.min(...plane), Math.max(...plane)]
          for (const v of made) {
            expect(v).toBeGreaterThanOrEqual(low - 1e-3)
            expect(v).toBeLessThanOrEqual(high + 1e-3)
          }
          const mean = (a: Float32Array) => a.reduce((n, v) => n + v, 0) / a.length
          expect(Math.abs(mean(made) - mean(plane))).toBeLessThan(0.02 * (high - low) + 1e-3)
        },
      ),
    )
  })
})
