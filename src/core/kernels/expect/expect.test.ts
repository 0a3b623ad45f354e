import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { seededRandom } from '#core/base'
import { bothKernels } from '../../../../test/kernels.ts'
import { CELL_FLOATS } from '../luma/luma.ts'
import { EXPECT_WORDS } from './expect.ts'

const [TABLE, CELLS, EVEN, ODD] = [1024, 8192, 1 << 18, 1 << 19]

interface Frame {
  readonly cells: readonly (readonly number[])[]
  readonly shift: number
  readonly gain: number
  readonly whenClipped: number
}

function run(kind: 'plain' | 'simd', frames: readonly Frame[], columns: number) {
  const both = bothKernels(1 << 20)
  const { memory } = both
  frames.forEach((f, k) => {
    const at = CELLS + k * columns * CELL_FLOATS * 4
    memory.f32(at, columns * CELL_FLOATS).set(f.cells.flat())
    memory.u32(TABLE + k * EXPECT_WORDS * 4, 1)[0] = at
    memory.i32(TABLE + k * EXPECT_WORDS * 4 + 4, 1)[0] = f.shift
    const perCode = [1, 2, 3, 4].map((n) => n / 1000)
    memory
      .f32(TABLE + k * EXPECT_WORDS * 4 + 8, EXPECT_WORDS - 2)
      .set([100, 101, 102, 103, ...perCode, 900, 1 / f.gain, f.whenClipped])
  })
  both[kind].expectRow(TABLE, frames.length, columns, EVEN, ODD)
  return [[...memory.f32(EVEN, columns * 4)], [...memory.f32(ODD, columns * 4)]] as const
}

describe('the expected level of a cell', () => {
  it('is the exposure-weighted mean of unclipped frames, worked by hand', () => {
    // Levels 0.2 and 0.3 of frames of gains 1 and 1/2 (twice the light): (0.2 + 0.3) / (1/1 + 1/0.5) = 1/6.
    const [even, odd] = run(
      'simd',
      [
        { cells: [[300, 201, 102, 53, 400]], shift: 0, gain: 1, whenClipped: 0 },
        { cells: [[400, 201, 102, 53, 400]], shift: 0, gain: 0.5, whenClipped: 0 },
        { cells: [[5000, 5000, 5000, 5000, 950]], shift: 0, gain: 0.1, whenClipped: 0 },
      ],
      1,
    )
    expect(even[0]).toBeCloseTo(1 / 6, 6)
    expect(even[2]).toBe(even[0])
    expect(even[1]).toBeCloseTo((0.2 + 0.2) / 3, 6)
    // Black and below.
    expect(odd[0]).toBe(0)
    expect(odd[1]).toBe(0)
  })

  it('is bit for bit the same from both kernels, shifted and clipped', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 1, max: 30 }),
        fc.integer({ min: 1, max: 5 }),
        fc.integer(),
        (columns, count, seed) => {
          const random = seededRandom(seed)
          const frames = Array.from({ length: count }, (_, k) => ({
            cells: Array.from({ length: columns }, () =>
              Array.from({ length: CELL_FLOATS }, () => 1000 * random.uniform()),
            ),
            shift: Math.floor(7 * random.uniform()) - 3,
            gain: 2 ** (k - 2),
            whenClipped: k === 0 ? 1e-4 : 0,
          }))
          expect(run('simd', frames, columns)).toEqual(run('plain', frames, columns))
        },
      ),
    )
  })
})
