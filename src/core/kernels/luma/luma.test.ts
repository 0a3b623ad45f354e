import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { seededRandom } from '#core/base'
import { bothKernels } from '../../../../test/kernels.ts'
import { CELL, CELL_FLOATS } from './luma.ts'

describe('half-size green picture', () => {
  it('makes shot noise even: Poisson counts of any mean above 20 come out with deviation ½√gain to 3 % (Anscombe 1948)', () => {
    const { memory, simd } = bothKernels(1 << 22)
    const random = seededRandom(11)
    let worst = 0
    for (const mean of [20, 100, 1000]) {
      const n = 256 * 256
      const raw = memory.u16(4096, n)
      for (let i = 0; i < n; i++) raw[i] = 50 + random.poisson(mean)
      // Two greens are summed, so half the gain gives the mean of the two, whose variance is half a count's.
      simd.halfLumaRows(4096, 256, 0, 128, 1 << 20, 0, 100, 0.5, 0)
      const out = memory.f32(1 << 20, 128 * 128)
      const m = out.reduce((a, b) => a + b) / out.length
      const deviation = Math.sqrt(out.reduce((a, b) => a + (b - m) ** 2, 0) / out.length)
      worst = Math.max(worst, Math.abs(deviation / (0.5 / Math.SQRT2) - 1))
    }
    console.log(`evenness of shot noise after the square root: worst ${(worst * 100).toFixed(2)} %`)
    expect(worst).toBeLessThan(0.03)
  })

  it('and cell means are bit for bit the same from both kernels', () => {
    const { memory, plain, simd } = bothKernels(1 << 22)
    fc.assert(
      fc.property(
        fc.integer({ min: 4, max: 75 }),
        fc.integer({ min: 4, max: 40 }),
        fc.integer(),
        fc.boolean(),
        (width, height, seed, first) => {
          const random = seededRandom(seed)
          const raw = memory.u16(4096, width * height)
          for (let i = 0; i < raw.length; i++) raw[i] = Math.floor(random.uniform() * 65536)
          const [a, b] = [1 << 20, 1 << 21]
          const n = (width >> 1) * (height >> 1)
          plain.halfLumaRows(4096, width, 0, height >> 1, a, first ? 1 : 0, 2056, 0.01, 0.5)
          simd.halfLumaRows(4096, width, 0, height >> 1, b, first ? 1 : 0, 2056, 0.01, 0.5)
          expect([...memory.f32(b, n)]).toEqual([...memory.f32(a, n)])
          const cells = Math.ceil(width / CELL) * CELL_FLOATS
          for (let y = 0; y < Math.ceil(height / CELL); y++) {
            plain.cellRow(4096, width, height, y, a)
            simd.cellRow(4096, width, height, y, b)
            expect([...memory.f32(b, cells)]).toEqual([...memory.f32(a, cells)])
          }
        },
      ),
    )
  })
})
