import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { seededRandom } from '#core/base'
import { bothKernels } from '../../../../test/kernels.ts'
import { LEVEL_BINS } from './levels.ts'

const [LIMITS, SRC, A, B] = [1024, 2048, 1 << 20, 2 << 20]
const TABLES = 5 * LEVEL_BINS

describe('levels of a mosaic', () => {
  it('are counted phase by phase: a picture of 4 × 4 counted by hand', () => {
    const { memory, simd } = bothKernels(4 << 20)
    // biome-ignore format: a picture
    memory.u16(SRC, 16).set([
      100, 4095, 100, 200,
      300,  400, 300, 4095,
      100,  200, 100, 4095,
      300,  400, 301, 400,
    ])
    memory.u32(A, 4).fill(0)
    memory.u16(LIMITS, 4).set([101, 4095, 301, 4095])
    simd.countClipped(SRC, 4, 0, 4, LIMITS, A)
    expect([...memory.u32(A, 4)]).toEqual([0, 2, 1, 1])
    memory.u32(A, TABLES).fill(0)
    simd.countLevels(SRC, 4, 0, 2, 1, 0, A)
    expect([100, 300, 301].map((v) => [0, 1, 2, 3].map((k) => memory.u32(A, TABLES)[k * LEVEL_BINS + v]))).toEqual([
      [4, 0, 0, 0],
      [0, 0, 3, 0],
      [0, 0, 1, 0],
    ])
    // Means of four: (100 + 4095 + 300 + 400) / 4 = 1223.75, 1173.75 + …
    expect(memory.u32(A + 16 * LEVEL_BINS, LEVEL_BINS)[1223]).toBe(1)
    expect(memory.u32(A + 16 * LEVEL_BINS, LEVEL_BINS)[250]).toBe(1)
    // The quarter-size pixel: sixteen samples less sixteen blacks of 64, root of half of it and 9.
    simd.quarterRows(SRC, 4, 0, 1, A, 16 * 64, 0.5, 9)
    const sum = memory.u16(SRC, 16).reduce((s, v) => s + v)
    expect(memory.f32(A, 1)[0]).toBeCloseTo(Math.sqrt(0.5 * (sum - 1024) + 9), 4)
  })

  it('are bit for bit the same from both kernels', () => {
    const { memory, plain, simd } = bothKernels(4 << 20)
    const size = fc.integer({ min: 1, max: 75 })
    fc.assert(
      fc.property(
        size,
        size,
        fc.integer(),
        fc.array(fc.nat(65535), { minLength: 4, maxLength: 4 }),
        (width, height, seed, limits) => {
          memory.u16(LIMITS, 4).set(limits)
          const random = seededRandom(seed)
          const raw = memory.u16(SRC, width * height)
          for (let i = 0; i < raw.length; i++) raw[i] = Math.floor(random.uniform() * 65536)
          const same = (words: number) => expect([...memory.u32(B, words)]).toEqual([...memory.u32(A, words)])
          for (const [kernels, at] of [[plain, A] as const, [simd, B] as const]) {
            memory.u32(at, 4).fill(7)
            kernels.countClipped(SRC, width, 0, height, LIMITS, at)
          }
          same(4)
          for (const [kernels, at] of [[plain, A] as const, [simd, B] as const]) {
            memory.u32(at, TABLES).fill(0)
            kernels.countLevels(SRC, width, 0, height >> 1, 1 + (seed & 1), 3, at)
          }
          expect(Buffer.from(memory.u8(B, 4 * TABLES)).equals(Buffer.from(memory.u8(A, 4 * TABLES)))).toBe(true)
          for (const [kernels, at] of [[plain, A] as const, [simd, B] as const])
            kernels.quarterRows(SRC, width, 0, height >> 2, at, 16 * 256.5, 0.01, 0.5)
          same((width >> 2) * (height >> 2))
        },
      ),
    )
  })

  it('of a row longer than a lane can count are all counted', () => {
    const { memory, simd } = bothKernels(4 << 20)
    const width = 600_003
    memory.u16(SRC, width).fill(9)
    memory.u16(LIMITS, 4).fill(9)
    memory.u32(3 << 20, 4).fill(0)
    simd.countClipped(SRC, width, 0, 1, LIMITS, 3 << 20)
    expect([...memory.u32(3 << 20, 4)]).toEqual([300_002, 300_001, 0, 0])
  })
})
