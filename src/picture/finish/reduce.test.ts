import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { testCrew } from '../../../test/kernels.ts'
import { finishTasks } from './index.ts'
import { reducePlanes } from './reduce.ts'

async function reduced(
  width: number,
  height: number,
  stride: number,
  longSide: number,
  at: (x: number, y: number) => number,
) {
  const crew = testCrew(finishTasks, 16 << 20)
  const plane = (gain: number) => {
    const address = crew.arena.alloc(stride * height * 4)
    // What lies between the rows must not be read.
    const samples = crew.arena.f32(address, stride * height).fill(Number.NaN)
    for (let y = 0; y < height; y++) for (let x = 0; x < width; x++) samples[y * stride + x] = gain * at(x, y)
    return address
  }
  const from = { width, height, stride, r: plane(1), g: plane(2), b: plane(3) }
  const small = await reducePlanes(crew, from, longSide)
  const samples = (address: number) => [...crew.arena.f32(address, small.stride * small.height)]
  return { ...small, planes: [samples(small.r), samples(small.g), samples(small.b)] as const }
}

describe('a reduced picture', () => {
  it('of a plane ramp is the same ramp, seen from the middles of 4 × 4 pixels after two halvings', async () => {
    const small = await reduced(403, 302, 403, 120, (x, y) => 3 * x - 2 * y)
    expect([small.width, small.height]).toEqual([100, 75])
    let worst = 0
    for (let y = 2; y < 73; y++)
      for (let x = 2; x < 98; x++) {
        const expected = 3 * (4 * x + 1.5) - 2 * (4 * y + 1.5)
        small.planes.forEach((p, c) => {
          worst = Math.max(worst, Math.abs(p[y * 100 + x]! - (c + 1) * expected))
        })
      }
    console.log(`ramp reduced to a quarter: worst ${worst}`)
    expect(worst).toBeLessThan(0.01)
  })

  it('is bit for bit the same when rows stand apart in memory', async () => {
    const size = fc.integer({ min: 2, max: 150 })
    await fc.assert(
      fc.asyncProperty(size, size, fc.integer({ min: 1, max: 40 }), async (width, height, gap) => {
        const at = (x: number, y: number) => Math.sin(x * 1.7 + y * y)
        const close = await reduced(width, height, width, Math.max(width, height) - 1, at)
        const apart = await reduced(width, height, width + gap, Math.max(width, height) - 1, at)
        expect(apart.planes).toEqual(close.planes)
        expect(close.planes.flat().every(Number.isFinite)).toBe(true)
      }),
      { numRuns: 30 },
    )
  })

  it('that is small enough already, or one pixel high, is given back as it is', async () => {
    const small = await reduced(60, 40, 64, 60, (x) => x)
    expect([small.width, small.height, small.stride]).toEqual([60, 40, 64])
    expect((await reduced(60, 1, 60, 30, (x) => x)).width).toBe(60)
  })
})
