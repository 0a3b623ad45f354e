import { describe, expect, it } from 'vitest'
import { type Light, madeSamples, madeTown, measured } from './made-frame.fixture.ts'
import { STOPS, signalAt } from './scene-stops.ts'

const [width, height] = [1600, 1200]
const town = madeTown(width, height, 11)
const sensor = { fullWellElectrons: 6000, readNoiseElectrons: 1.8 }
const term = { scale: 1 / 6000, offset: (1.8 / 6000) ** 2 }

/** Shares of a picture without noise: clipped, and at each stop, of one colour's samples. */
function truth(light: Light, phases: readonly number[]) {
  const stops = new Float64Array(STOPS)
  let [clipped, buried, n] = [0, 0, 0]
  const bar = signalAt(term, 1)
  for (let y = 0; y < height; y++)
    for (let x = 0; x < width; x++) {
      const phase = ((y & 1) << 1) | (x & 1)
      if (!phases.includes(phase)) continue
      const v = light(x, y, phase)
      n++
      if (v < bar) buried++
      if (v >= 1) clipped++
      else stops[Math.min(STOPS - 1, Math.floor(-Math.log2(v)))]! += 1
    }
  return { clipped: clipped / n, buried: buried / n, stops: Array.from(stops, (v) => v / n) }
}

describe('levels in stops', () => {
  it('one sample equals its noise where the DNG form says: 1.8 electrons of read noise are met at 2.37 electrons', () => {
    // x² = scale·x + offset in electrons: e² = e + 1.8², e = (1 + √(1 + 4·3.24)) / 2 = 2.3682.
    expect(signalAt(term, 1) * 6000).toBeCloseTo((1 + Math.sqrt(1 + 4 * 1.8 ** 2)) / 2, 9)
    // CHECKS: 100 electrons have a ratio of 9.84183324 (EMVA 1288 form).
    expect(signalAt(term, 9.84183324) * 6000).toBeCloseTo(100, 5)
  })

  it('agree with the picture without noise, from four stops over to five under: clipped to 0.15 %, each stop to 2 %, buried to 2 %', () => {
    let [worstClipped, worstStop, worstBuried] = [0, 0, 0]
    for (const exposure of [4, 2, 0, -2, -5]) {
      const light: Light = (x, y, p) => 2 ** exposure * town(x, y, p)
      const { levels } = measured(madeSamples(sensor, width, height, light, 3), width, height, {
        profile: [term, term, term],
      })
      for (const [colour, phases] of [
        ['r', [0]],
        ['g', [1, 2]],
        ['b', [3]],
      ] as const) {
        const real = truth(light, phases)
        worstClipped = Math.max(worstClipped, Math.abs(levels.clipped[colour] - real.clipped))
        // Four deviations of a cell's own noise lie 12.7 stops down: what is deeper is one.
        const deep = (list: readonly number[]) => [...list.slice(0, 12), list.slice(12).reduce((s, v) => s + v, 0)]
        const real12 = deep(real.stops)
        deep(levels.stops[colour]).forEach((share, k) => {
          worstStop = Math.max(worstStop, Math.abs(share - real12[k]!))
        })
        if (colour === 'g') worstBuried = Math.max(worstBuried, Math.abs(levels.buried[0]! - real.buried))
        const sum = levels.stops[colour].reduce((s, v) => s + v, 0) + levels.clipped[colour]
        expect(Math.abs(sum - 1)).toBeLessThan(0.003)
      }
    }
    const percent = (v: number) => `${(100 * v).toFixed(2)} %`
    console.log(
      `worst share: clipped ${percent(worstClipped)}, a stop ${percent(worstStop)}, buried ${percent(worstBuried)}`,
    )
    expect(worstClipped).toBeLessThan(0.0015)
    expect(worstStop).toBeLessThan(0.02)
    expect(worstBuried).toBeLessThan(0.02)
  })

  it('a stop more light leaves buried what a frame of a stop more has', () => {
    const at = (stops: number) => {
      const light: Light = (x, y, p) => 2 ** stops * town(x, y, p)
      return measured(madeSamples(sensor, width, height, light, 5), width, height, { profile: [term, term, term] })
        .levels
    }
    const dark = at(-6)
    const brighter = at(-4)
    console.log(
      `buried by 6 stops less ${dark.buried.map((v) => v.toFixed(3)).join(', ')}; by 4 less ${brighter.buried[0]!.toFixed(3)}`,
    )
    expect(Math.abs(dark.buried[2]! - brighter.buried[0]!)).toBeLessThan(0.03)
    dark.buried.forEach((v, n) => {
      expect(v).toBeLessThanOrEqual(dark.buried[Math.max(0, n - 1)]!)
    })
  })
})
