import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { seededRandom } from '#core/base'
import { bothKernels } from '../../../../test/kernels.ts'

describe('a pyramid step', () => {
  it('keeps a straight ramp straight, with the small picture’s pixels in the middle of the large one’s blocks', () => {
    const { memory, simd } = bothKernels(1 << 22)
    const [w, h] = [64, 40]
    const large = memory.f32(4096, w * h)
    for (let y = 0; y < h; y++) for (let x = 0; x < w; x++) large[y * w + x] = 3 * x - 2 * y
    simd.halveRows(4096, w, h, 0, h / 2, 1 << 20)
    const small = memory.f32(1 << 20, (w * h) / 4)
    let worst = 0
    for (let y = 1; y < h / 2 - 1; y++)
      for (let x = 1; x < w / 2 - 1; x++)
        worst = Math.max(worst, Math.abs(small[(y * w) / 2 + x]! - (3 * (2 * x + 0.5) - 2 * (2 * y + 0.5))))
    console.log(`ramp after one pyramid step: worst ${worst}`)
    expect(worst).toBeLessThan(1e-4)
  })

  it('is bit for bit the same from both kernels, at any size', () => {
    const { memory, plain, simd } = bothKernels(1 << 22)
    fc.assert(
      fc.property(fc.integer({ min: 4, max: 70 }), fc.integer({ min: 4, max: 20 }), fc.integer(), (w, h, seed) => {
        const random = seededRandom(seed)
        const large = memory.f32(4096, w * h)
        for (let i = 0; i < large.length; i++) large[i] = random.normal()
        plain.halveRows(4096, w, h, 0, h >> 1, 1 << 20)
        simd.halveRows(4096, w, h, 0, h >> 1, 1 << 21)
        const n = (w >> 1) * (h >> 1)
        expect([...memory.f32(1 << 21, n)]).toEqual([...memory.f32(1 << 20, n)])
      }),
    )
  })

  it('smooths by [1 2 1]/4 each way, worked by hand, and the same from both kernels', () => {
    const { memory, plain, simd } = bothKernels(1 << 22)
    const point = memory.f32(4096, 25)
    point.fill(0)
    point[12] = 16
    simd.smoothPicture(4096, 5, 5, 8192)
    expect([...point.subarray(6, 9), ...point.subarray(11, 14)]).toEqual([1, 2, 1, 2, 4, 2])
    expect(point.reduce((a, b) => a + b)).toBe(16)
    fc.assert(
      fc.property(fc.integer({ min: 2, max: 40 }), fc.integer({ min: 1, max: 12 }), fc.integer(), (w, h, seed) => {
        const random = seededRandom(seed)
        const values = Float32Array.from({ length: w * h }, () => random.normal())
        const results = ([plain, simd] as const).map((kernels, k) => {
          const at = (k + 1) << 20
          memory.f32(at, w * h).set(values)
          kernels.smoothPicture(at, w, h, 4096)
          return [...memory.f32(at, w * h)]
        })
        expect(results[1]).toEqual(results[0])
      }),
    )
  })
})
