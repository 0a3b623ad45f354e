import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { seededRandom } from '#core/base'
import { inlineCrew, RESERVED_BYTES, SCRATCH_BYTES } from '#core/kernels'
import { bothKernels } from '../../../test/kernels.ts'
import { lightGrid } from './frame-levels.ts'
import { LEVEL_RESULT_BYTES, levelTasks, readLevels } from './level-task.ts'
import { madeSamples, madeTown, measured } from './made-frame.fixture.ts'

const sensor = { fullWellElectrons: 6000, readNoiseElectrons: 1.8 }

/** Every number that a result holds. */
function numbers(value: unknown): number[] {
  if (typeof value === 'number') return [value]
  return value !== null && typeof value === 'object' ? Object.values(value).flatMap(numbers) : []
}

describe('the levels of a frame', () => {
  it('are the same from plain and fast kernels', () => {
    const samples = madeSamples(sensor, 640, 480, madeTown(640, 480, 3), 2)
    const [plain, simd] = (['plain', 'simd'] as const).map((kind) => measured(samples, 640, 480, { kind }))
    expect(simd!.levels).toEqual(plain!.levels)
    expect([...simd!.light]).toEqual([...plain!.light])
  })

  it('are finite, within 0 and 1, and add up, whatever the samples and however small the frame', () => {
    fc.assert(
      fc.property(
        fc.integer({ min: 1, max: 90 }),
        fc.integer({ min: 1, max: 90 }),
        fc.constantFrom('noise', 'black', 'white', 'flat', 'over', 'two'),
        fc.constantFrom(0, 64, 4000),
        fc.constantFrom([0, 1, 1, 2] as const, [1, 0, 2, 1] as const, [2, 1, 1, 0] as const, [1, 2, 0, 1] as const),
        fc.integer(),
        (width, height, kind, black, cfa, seed) => {
          const random = seededRandom(seed)
          const value = {
            noise: () => Math.floor(4096 * random.uniform()),
            black: () => 0,
            white: () => 4095,
            flat: () => 1000,
            over: () => 65535,
            two: () => (random.uniform() < 0.5 ? 0 : 65535),
          }[kind]
          const samples = Uint16Array.from({ length: width * height }, value)
          const { levels } = measured(samples, width, height, { cfa, black: [black, black, black, black] })
          expect(numbers(levels).every(Number.isFinite)).toBe(true)
          const { r, g, b } = levels.clipped
          for (const share of [r, g, b, ...levels.buried, ...Object.values(levels.stops).flat()]) {
            expect(share).toBeGreaterThanOrEqual(0)
            expect(share).toBeLessThanOrEqual(1 + 1e-9)
          }
          levels.buried.forEach((share, n) => {
            if (n > 0) expect(share).toBeLessThanOrEqual(levels.buried[n - 1]!)
          })
        },
      ),
      { numRuns: 60 },
    )
  })

  it('clip more and bury less the more light there is', () => {
    const town = madeTown(480, 320, 9)
    const at = (stops: number) =>
      measured(
        madeSamples(sensor, 480, 320, (x, y, p) => 2 ** stops * town(x, y, p), 5),
        480,
        320,
      ).levels
    const all = [-8, -5, -3, -1, 1, 3, 5].map(at)
    for (let k = 1; k < all.length; k++) {
      expect(all[k]!.clipped.g).toBeGreaterThanOrEqual(all[k - 1]!.clipped.g)
      expect(all[k]!.buried[0]!).toBeLessThanOrEqual(all[k - 1]!.buried[0]! + 0.001)
    }
    expect(all.at(-1)!.clipped.g).toBeGreaterThan(0.5)
    expect(all[0]!.buried[0]!).toBeGreaterThan(0.5)
  })

  it('cross the threads as text: a task’s result is that of the function', async () => {
    const [width, height] = [640, 480]
    const samples = madeSamples(sensor, width, height, madeTown(width, height, 3), 2)
    const { memory, simd } = bothKernels(SCRATCH_BYTES + (4 << 20))
    const crew = inlineCrew({ buffer: memory.buffer, kernels: simd, kind: 'simd', tasks: levelTasks })
    const at = crew.arena.alloc(2 * width * height)
    crew.arena.u16(at, width * height).set(samples)
    const light = crew.arena.alloc(4 * lightGrid(width, height).cells)
    const results = [0, 1].map(() => crew.arena.alloc(LEVEL_RESULT_BYTES))
    const frame = { at, width, height, cfa: [0, 1, 1, 2], white: 4095, range: 3839, profile: null }
    const request = { frame: { ...frame, black: [256, 256, 256, 256] }, orientation: 1, gimbalRoll: null, light }
    await crew.run('measure.levels', { frames: results.map((result) => ({ ...request, result })) }, 2)
    const { levels } = measured(samples, width, height)
    for (const result of results) expect(readLevels(crew.arena, result)).toEqual(levels)
    expect(JSON.stringify(levels).length).toBeLessThan(LEVEL_RESULT_BYTES / 4)
    expect(RESERVED_BYTES).toBeGreaterThan(0)
  })

  it('are compared on a grid of at most 96 cells across, of 16 rows each', () => {
    expect(lightGrid(4000, 3000)).toEqual({ columns: 83, rows: 188, cells: 15604, cellRows: 16, cellColumns: 48 })
    expect(lightGrid(8064, 6048)).toEqual({ columns: 84, rows: 378, cells: 31752, cellRows: 16, cellColumns: 96 })
    expect(lightGrid(1, 1)).toEqual({ columns: 1, rows: 1, cells: 1, cellRows: 16, cellColumns: 16 })
  })
})
