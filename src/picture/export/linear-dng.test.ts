import { describe, expect, it } from 'vitest'
import { linearSamples } from './linear-dng.ts'

const light = (values: number[]) => Float32Array.from(values)
const lightOf = (made: ReturnType<typeof linearSamples>, i: number) =>
  ((made.samples[i]! - made.black) / (made.white - made.black)) * 2 ** made.whiteStops

describe('scene-linear light in 16 bits', () => {
  it('is within one step of what it was, below black too, and its brightest sample is white', () => {
    const plane = light(Array.from({ length: 4000 }, (_, i) => (i === 0 ? 3.7 : (i / 4000) ** 4 * 3 - 0.01)))
    const made = linearSamples([plane, plane, plane], 100)
    expect(made.whiteStops).toBeCloseTo(Math.log2(3.7), 6)
    expect(Math.max(...made.samples)).toBe(made.white)
    const step = 2 ** made.whiteStops / (made.white - made.black)
    plane.forEach((v, i) => void expect(Math.abs(lightOf(made, i * 3) - v)).toBeLessThanOrEqual(1.001 * step))
    expect(made.clippedShare).toBe(0)
  })

  it('keeps the mean of light far below one step', () => {
    const plane = light(new Array(90_000).fill(2 ** -18))
    plane[0] = 4
    const made = linearSamples([plane, plane, plane], 300)
    let sum = 0
    for (let i = 1; i < plane.length; i++) sum += lightOf(made, i * 3)
    const step = 4 / (made.white - made.black)
    const off = Math.abs(sum / (plane.length - 1) - 2 ** -18) / step
    console.log(`light of ${(2 ** -18 / step).toFixed(3)} steps: mean off by ${off.toFixed(5)} steps`)
    expect(off).toBeLessThan(0.002)
  })

  it('gives a few stray lamps one stop and clips them there, and says how many', () => {
    const plane = light(new Array(50_000).fill(1))
    plane[7] = 1000
    const made = linearSamples([plane, plane, plane], 500)
    expect(2 ** made.whiteStops).toBeLessThan(2.6)
    expect(made.samples[21]).toBe(made.white)
    expect(made.clippedShare).toBeCloseTo(1 / 50_000, 9)
    expect(lightOf(made, 0)).toBeCloseTo(1, 3)
  })

  it('of a black picture is black, and of any scale keeps its precision', () => {
    const black = linearSamples([light([0, 0]), light([0, 0]), light([0, 0])], 2)
    expect([...black.samples]).toEqual(new Array(6).fill(black.black))
    for (const scale of [2 ** -10, 1, 2 ** 10]) {
      const plane = light([scale, scale / 2])
      expect(linearSamples([plane, plane, plane], 2).whiteStops).toBeCloseTo(Math.log2(scale), 6)
    }
  })
})
