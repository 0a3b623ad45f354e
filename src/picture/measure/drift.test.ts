import { describe, expect, it } from 'vitest'
import { seededRandom } from '#core/base'
import { driftOf, shifted } from './drift.ts'
import { madeBracket } from './made-bracket.fixture.ts'

/** A dusk sky that brightens upwards over soft houses: a little lower looks much as a little brighter. */
const dusk = (x: number, y: number) =>
  0.02 +
  0.4 * Math.max(0, 1 - y / 188) ** 2 +
  0.05 * Math.sin(x / 4 + Math.sin(y / 9)) ** 2 * (1 + Math.sin(y / 3.5)) * (y > 90 ? 1 : 0)

describe('the drift between two frames', () => {
  it('is known to 0.1 cells up to three cells across and seven down, whatever the exposures', () => {
    const random = seededRandom(8)
    let worst = 0
    for (let k = 0; k < 24; k++) {
      const drift = [6 * random.uniform() - 3, 14 * random.uniform() - 7] as const
      const [own, other] = madeBracket([{ seconds: 0.2, drift }, { seconds: 0.4 + random.uniform() }], k, dusk)
      const expected = other!.light.map((v) => v * 2 ** (own!.exposureStops - other!.exposureStops))
      const found = driftOf(own!, expected, new Float32Array(expected.length), { slope: 1, veil: 0 })!
      worst = Math.max(worst, Math.abs(found[0] - drift[0]), Math.abs(found[1] - drift[1]))
    }
    console.log(`drift worst ${worst.toFixed(3)} cells`)
    expect(worst).toBeLessThan(0.1)
  })

  it('is not mistaken for more light where the sky brightens upwards', () => {
    const [own, other] = madeBracket([{ seconds: 0.5, drift: [-1.25, 2.2] }, { seconds: 0.5 }], 3, dusk)
    for (const slope of [0.93, 1, 1.07]) {
      const [dx, dy] = driftOf(own!, other!.light, new Float32Array(other!.light.length), { slope, veil: 0 })!
      expect(Math.abs(dx + 1.25)).toBeLessThan(0.1)
      expect(Math.abs(dy - 2.2)).toBeLessThan(0.1)
    }
  })

  it('is found though one cell in 30 is clipped and its variance unknown with it', () => {
    const random = seededRandom(5)
    const [own, other] = madeBracket([{ seconds: 0.5, drift: [-1.25, 2.2] }, { seconds: 0.5 }], 3, dusk)
    const lamp = own!.light.map(() => (random.uniform() < 1 / 30 ? Number.NaN : 0))
    const lamps = (v: number, i: number) => v + lamp[i]!
    const variance = new Float32Array(other!.light.length).map(lamps)
    const [dx, dy] = driftOf({ ...own!, light: own!.light.map(lamps) }, other!.light.map(lamps), variance, {
      slope: 1,
      veil: 0,
    })!
    expect(Math.hypot(dx + 1.25, dy - 2.2)).toBeLessThan(0.1)
  })

  it('is unknown in an even picture', () => {
    const [own, other] = madeBracket([{ seconds: 0.5 }, { seconds: 0.5 }], 3, () => 0.2)
    const still = other!.light.map(() => 0.1)
    expect(driftOf(own!, still, new Float32Array(still.length), { slope: 1, veil: 0 })).toBeNull()
  })
})

describe('a shifted picture', () => {
  it('keeps straight slopes to rounding and is unknown beyond its edge', () => {
    const [own] = madeBracket([{ seconds: 1 }], 1, () => 0.1, [12, 10])
    const slope = Float32Array.from({ length: 120 }, (_, i) => 3 * (i % 12) + 5 * Math.floor(i / 12))
    const there = shifted(own!, slope, [1.5, -2.25])
    expect(there[4 * 12 + 6]).toBeCloseTo(3 * (6 - 1.5) + 5 * (4 + 2.25), 4)
    expect(there[0]).toBeNaN()
    expect(there[9 * 12 + 6]).toBeNaN()
  })
})
