import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { seededRandom } from '#core/base'
import { followUprights, transposed } from './follow-uprights.ts'

const [width, height] = [200, 150]

function picture(value: (x: number, y: number) => number, seed = 1) {
  const random = seededRandom(seed)
  const pixels = Float32Array.from({ length: width * height }, (_, i) => {
    return value(i % width, Math.floor(i / width)) + 0.5 * random.normal()
  })
  return { pixels, width, height, across: 1, down: width }
}

describe('edges', () => {
  it('that run down the picture are followed with their slope to 0.1° and their place to 0.1 px', () => {
    let [worstSlope, worstPlace] = [0, 0]
    for (const degrees of [-20, -7, -1, 0, 0.4, 3, 15]) {
      const slope = Math.tan((degrees * Math.PI) / 180)
      const step = (x: number, y: number) =>
        20 + 30 / (1 + Math.exp(-(x - 99.5 - 4.3 - slope * (y - 74.5)) * Math.cos(Math.atan(slope)) * 2))
      const longest = followUprights(picture(step), 23).sort((a, b) => b.rows - a.rows)[0]!
      expect(longest.rows).toBeGreaterThan(100)
      worstSlope = Math.max(worstSlope, Math.abs((Math.atan(longest.slope) * 180) / Math.PI - degrees))
      worstPlace = Math.max(worstPlace, Math.abs(longest.at - 4.3))
      const across = picture((x, y) => step(y + 25, x - 25))
      expect(followUprights(transposed(across), 23).sort((a, b) => b.rows - a.rows)[0]!.rows).toBeGreaterThan(100)
    }
    console.log(`edge slope worst ${worstSlope.toFixed(3)}°, place worst ${worstPlace.toFixed(3)} px`)
    expect(worstSlope).toBeLessThan(0.1)
    expect(worstPlace).toBeLessThan(0.1)
  })

  it('are not found in noise, nor where a circle bends', () => {
    expect(
      followUprights(
        picture(() => 20),
        23,
      ),
    ).toEqual([])
    const lamp = picture((x, y) => 20 + 30 / (1 + Math.exp(Math.hypot(x - 100, y - 75) - 30)))
    for (const e of followUprights(lamp, 23)) expect(e.rows).toBeLessThan(30)
  })

  it('of any picture are finite, and small pictures have none', () => {
    fc.assert(
      fc.property(fc.integer(), fc.integer({ min: 1, max: 200 }), (seed, size) => {
        const random = seededRandom(seed)
        const edges = followUprights(
          picture(() => size * random.uniform(), seed),
          5,
        )
        for (const e of edges) expect(Object.values(e).every(Number.isFinite)).toBe(true)
      }),
      { numRuns: 20 },
    )
    expect(followUprights({ pixels: new Float32Array(100), width: 10, height: 10, across: 1, down: 10 }, 1)).toEqual([])
  })
})
