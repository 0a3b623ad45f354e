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
})
