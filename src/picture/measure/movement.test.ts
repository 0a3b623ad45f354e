import { describe, expect, it } from 'vitest'
import { degreesOf, fitMovement, lengthOf } from './movement.ts'
import { roundSpread } from './round.ts'
import { ANGLES, ringsFor, type Spectrum } from './spectrum.ts'

const sinc = (x: number) => (Math.abs(x) < 1e-9 ? 1 : Math.sin(x) / x)
/** Bessel J₁ by its integral (Abramowitz, Stegun 1964, 9.1.21), for the transform of a disc: 2 J₁(2πRk)/(2πRk). */
function j1(x: number): number {
  let sum = 0
  for (let i = 0; i < 400; i++) {
    const t = ((i + 0.5) * Math.PI) / 400
    sum += Math.cos(t - x * Math.sin(t)) / 400
  }
  return sum
}

/** The transform, in closed form, of a lamp seen by a lens of any round profile that moves along a straight line. */
function exact(narrow: number, round: (k: number) => number, length: number, degrees: number): Spectrum {
  const rings = ringsFor(narrow)
  const values = Float64Array.from({ length: rings.length * ANGLES }, (_, i) => {
    const k = rings[Math.floor(i / ANGLES)]!
    const angle = ((i % ANGLES) * Math.PI) / ANGLES - (degrees * Math.PI) / 180
    return round(k) * sinc(Math.PI * length * k * Math.cos(angle)) * sinc(Math.PI * k * 1e-9)
  })
  return { rings, values }
}
const gauss = (sigma: number) => (k: number) => Math.exp(-2 * Math.PI * Math.PI * (sigma * sigma + 1 / 12) * k * k)
const disc = (radius: number) => (k: number) =>
  (2 * j1(2 * Math.PI * radius * k) * Math.exp((-2 * Math.PI * Math.PI * k * k) / 12)) / (2 * Math.PI * radius * k)

describe('a line in a spectrum', () => {
  it('comes back from exact transforms within 0.01 px and 0.1°, whatever the round profile', () => {
    let [worst, worstDegrees] = [0, 0]
    for (const round of [gauss(0.5), gauss(1.2), disc(1), disc(2.5)])
      for (const [length, degrees] of [
        [0.3, 10],
        [1, 77],
        [3, 140],
        [7, 95],
        [10, 3],
      ] as const) {
        const line = fitMovement(exact(0.9, round, length, degrees), 16)
        worst = Math.max(worst, Math.abs(lengthOf(line) - length))
        worstDegrees = Math.max(worstDegrees, Math.abs(degreesOf(line) - degrees))
      }
    console.log(`line from an exact spectrum: ${worst.toFixed(4)} px, ${worstDegrees.toFixed(3)}°`)
    expect(worst).toBeLessThan(0.01)
    expect(worstDegrees).toBeLessThan(0.1)
  })

  it('is none where the blob is round, for a disc with its dark rings too', () => {
    for (const round of [gauss(0.7), disc(3), disc(5)])
      expect(lengthOf(fitMovement(exact(1.5, round, 0, 0), 16))).toBeLessThan(0.05)
  })

  it('the round spread beside it is σ for a Gaussian, R/2 for a disc, within 4 %', () => {
    for (const [narrow, round, truth] of [
      [0.85, gauss(0.8), 0.8],
      [1.25, gauss(1.2), 1.2],
      [1.3, disc(2), 1],
      [3.2, disc(5), 2.5],
    ] as const)
      for (const length of [0, 2, 6]) {
        const spectrum = exact(narrow, round, length, 30)
        const found = roundSpread(spectrum, fitMovement(spectrum, 16), 0)!
        expect(Math.abs(found / truth - 1)).toBeLessThan(0.04)
      }
  })
})
