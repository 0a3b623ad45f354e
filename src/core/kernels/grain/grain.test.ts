import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { seededRandom } from '#core/base'
import { bothKernels } from '../../../../test/kernels.ts'
import { GRAIN_COARSE_SPREAD, GRAIN_FLOATS, GRAIN_SPREAD } from './grain.ts'

const [SRC, A, B] = [1024, 2 << 20, 3 << 20]

describe('noise of a block', () => {
  it('is the variance of white noise in both bands, and spreads as stated', () => {
    const { memory, simd } = bothKernels(4 << 20)
    const width = 1024
    const random = seededRandom(3)
    const raw = memory.u16(SRC, width * 512)
    for (let i = 0; i < raw.length; i++) raw[i] = Math.round(1000 + (1 + (i & 1)) * 10 * random.normal())
    for (let y = 0; y < 16; y++) simd.grainBlocks(SRC, width, 0, 32 * y, 32, 32, A + y * 32 * GRAIN_FLOATS * 4)
    const out = memory.f32(A, 512 * GRAIN_FLOATS)
    const take = (k: number) => Array.from({ length: 512 }, (_, i) => out[i * GRAIN_FLOATS + k]!)
    const mean = (v: readonly number[]) => v.reduce((s, x) => s + x, 0) / v.length
    const spread = (v: readonly number[]) => Math.sqrt(mean(v.map((x) => (x - mean(v)) ** 2))) / mean(v)
    let worst = 0
    for (let phase = 0; phase < 4; phase++) {
      // Rounding to codes adds 1/12.
      const truth = (phase & 1 ? 400 : 100) + 1 / 12
      worst = Math.max(worst, Math.abs(mean(take(4 + phase)) / truth - 1), Math.abs(mean(take(8 + phase)) / truth - 1))
      expect(mean(take(phase))).toBeCloseTo(1000, 0)
      expect(spread(take(4 + phase))).toBeCloseTo(GRAIN_SPREAD, 1)
      expect(spread(take(8 + phase))).toBeCloseTo(GRAIN_COARSE_SPREAD, 1)
    }
    console.log(`variance of white noise from blocks: worst ${(100 * worst).toFixed(1)} %`)
    expect(worst).toBeLessThan(0.06)
  })

  it('of a plane is none', () => {
    const { memory, simd } = bothKernels(4 << 20)
    const raw = memory.u16(SRC, 32 * 32)
    for (let i = 0; i < 1024; i++) raw[i] = 500 + 3 * (i % 32) + 7 * (i >> 5)
    simd.grainBlocks(SRC, 32, 0, 0, 32, 1, A)
    expect([...memory.f32(A + 16, 8)]).toEqual([0, 0, 0, 0, 0, 0, 0, 0])
    expect([...memory.f32(A + 48, 8)]).toEqual([500, 503, 507, 510, 500 + 90 + 210, 803, 807, 810])
  })

  it('is bit for bit the same from both kernels', () => {
    const { memory, plain, simd } = bothKernels(4 << 20)
    fc.assert(
      fc.property(
        fc.integer({ min: 0, max: 9 }),
        fc.integer({ min: 1, max: 3 }),
        fc.integer(),
        fc.integer({ min: 1, max: 65535 }),
        (x, count, seed, most) => {
          const random = seededRandom(seed)
          const width = 2 * x + 48 * (count - 1) + 32 + (seed & 1)
          const raw = memory.u16(SRC, width * 36)
          for (let i = 0; i < raw.length; i++) raw[i] = Math.floor(random.uniform() * most)
          plain.grainBlocks(SRC, width, 2 * x, 4, 48, count, A)
          simd.grainBlocks(SRC, width, 2 * x, 4, 48, count, B)
          expect([...memory.f32(B, count * GRAIN_FLOATS)]).toEqual([...memory.f32(A, count * GRAIN_FLOATS)])
        },
      ),
    )
  })
})
