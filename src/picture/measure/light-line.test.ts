import { describe, expect, it } from 'vitest'
import { seededRandom } from '#core/base'
import { lineThrough } from './light-line.ts'

describe('a line through the light of cells', () => {
  it('is found to 1 % and a hundredth of white, though a fifth of the cells have brightened by a third of it', () => {
    const random = seededRandom(4)
    let [worst, worstVeil] = [0, 0]
    for (const [slope, veil] of [
      [1, 0],
      [0.25, 0.01],
      [1.07, -0.002],
    ] as const) {
      const n = 2000
      const x = Float64Array.from({ length: n }, () => random.uniform())
      const scatter = x.map((v) => (0.002 + 0.02 * v) ** 2)
      const y = x.map((v, k) => slope * v + veil + Math.sqrt(scatter[k]!) * random.normal() + (k % 5 === 0 ? 0.33 : 0))
      const line = lineThrough({ x, y, scatter, n }, { slope: 1.1 * slope, veil: 0 }, 6)!
      worst = Math.max(worst, Math.abs(line.slope / slope - 1))
      worstVeil = Math.max(worstVeil, Math.abs(line.veil - veil))
    }
    console.log(`slope worst ${(100 * worst).toFixed(2)} %, veil ${worstVeil.toFixed(4)}`)
    expect(worst).toBeLessThan(0.01)
    expect(worstVeil).toBeLessThan(0.01)
  })

  it('is none where the points lie in one place or fall with the light', () => {
    const flat = { x: new Float64Array(50).fill(0.2), y: new Float64Array(50).fill(0.3), n: 50 }
    const scatter = new Float64Array(50).fill(1e-4)
    expect(lineThrough({ ...flat, scatter }, { slope: 1, veil: 0 }, 6)).toBeNull()
    const x = Float64Array.from({ length: 50 }, (_, k) => k / 50)
    expect(lineThrough({ x, y: x.map((v) => 1 - v), scatter, n: 50 }, { slope: -1, veil: 1 }, 6)).toBeNull()
  })
})
