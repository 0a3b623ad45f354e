import { describe, expect, it } from 'vitest'
import { seededRandom } from '#core/base'
import { besselScaled, lengthBelief } from './belief.ts'

describe('belief in a length', () => {
  it('Bessel I₀ agrees with the table (Abramowitz, Stegun 1964, table 9.8: e^−x·I₀(x)) to 1e-6', () => {
    // From memory of the table, checked against the power series below.
    const series = (x: number) => {
      let [term, sum] = [1, 1]
      for (let k = 1; k < 80; k++) {
        term *= (x / 2 / k) ** 2
        sum += term
      }
      return sum * Math.exp(-x)
    }
    for (const x of [0, 0.5, 1, 2, 3.7, 3.8, 5, 10, 20])
      expect(Math.abs(besselScaled(x) - series(x))).toBeLessThan(1e-6)
    expect(besselScaled(1)).toBeCloseTo(0.4657596, 5)
  })

  it('is the length itself where the error is small, and certain', () => {
    for (const length of [0.5, 1, 3, 10]) {
      const { pixels, confidence } = lengthBelief(length ** 2 / 12, 1e-4)
      expect(pixels).toBeCloseTo(length, 2)
      expect(confidence).toBeGreaterThan(0.99)
    }
  })

  it('confidence is a frequency: of lengths believed within tolerance at 0.5 to 0.9, so many are, within 0.06', () => {
    const random = seededRandom(8)
    let [expected, right, n] = [0, 0, 0]
    for (let i = 0; i < 4000; i++) {
      const length = 2 * random.uniform()
      const error = 0.02
      const [p, c] = [length ** 2 / 12 + error * random.normal(), error * random.normal()]
      const { pixels, confidence } = lengthBelief(Math.hypot(p, c), error)
      if (confidence < 0.5 || confidence > 0.9) continue
      expected += confidence
      right += Number(Math.abs(pixels - length) <= Math.max(0.15, 0.05 * pixels))
      n++
    }
    console.log(`confidence: stated ${(expected / n).toFixed(3)}, found ${(right / n).toFixed(3)} of ${n}`)
    expect(n).toBeGreaterThan(500)
    expect(Math.abs(expected - right) / n).toBeLessThan(0.06)
  })
})
