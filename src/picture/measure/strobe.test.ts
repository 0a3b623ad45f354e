import { describe, expect, it } from 'vitest'
import { residualOf } from './compare.ts'
import { type MadeLight, madeBracket } from './made-bracket.fixture.ts'
import { strobesOf } from './strobe.ts'

const seconds = [0.02, 0.08, 0.3, 1.2]
const strobes = (frames: readonly MadeLight[], seed = 1) => {
  const light = madeBracket(frames, seed)
  return strobesOf(
    light,
    frames.map((_, k) => residualOf(light, k)),
  )
}
const lit = (k: number, flash: (x: number, y: number) => number) =>
  seconds.map((s, i) => (i === k ? { seconds: s, flash } : { seconds: s }))

describe('own strobe', () => {
  it('on mist over the whole of a frame is found, with its lift', () => {
    for (const k of [1, 2, 3]) {
      // Half of the middle level of that frame, stronger at the side where the lamp is.
      const found = strobes(lit(k, (x) => 0.02 * seconds[k]! * (1.4 - x / 100)))
      expect(found.map((f) => f?.extent ?? null)).toEqual(seconds.map((_, i) => (i === k ? 'whole' : null)))
      expect(found[k]!.liftStops).toBeGreaterThan(0.4)
      expect(found[k]!.liftStops).toBeLessThan(1.3)
    }
  })

  it('that lights the rows open at the time is found as a band of rows, in two frames too', () => {
    const band = (_: number, y: number) => (y > 70 && y < 120 ? 0.03 * 0.02 : 0)
    const found = strobes(lit(0, band))
    expect(found.map((f) => f?.extent ?? null)).toEqual(['rows', null, null, null])
    expect(found[0]!.share).toBeGreaterThan(0.2)
    expect(found[0]!.share).toBeLessThan(0.4)
    const two = strobes([{ seconds: 0.02, flash: band }, { seconds: 0.3 }])
    expect(two[0]?.extent).toBe('rows')
  })

  it('that lights an arm in a corner is found as a part', () => {
    const found = strobes(lit(2, (x, y) => (x < 30 && y > 120 ? 0.05 * 0.3 : 0)))
    expect(found.map((f) => f?.extent ?? null)).toEqual([null, null, 'part', null])
  })

  it('is not seen in steady brackets, nor where dusk falls, a car passes or the frames drift', () => {
    let alarms = 0
    for (let seed = 1; seed <= 40; seed++) {
      const frames = seconds.map((s, k) => ({
        seconds: s,
        drift: [((seed % 5) * k) / 30, ((seed % 3) * k) / 8] as const,
        lamps: (_: number, y: number) => 1 - 0.015 * (seed % 4) * k * (y < 55 ? 1 : 0.3),
        flash: (x: number, y: number) => (k === seed % 4 && Math.hypot(3 * x - 140, y - 130) < 7 ? 0.1 * s : 0),
      }))
      alarms += strobes(frames, seed).filter((f) => f !== null).length
    }
    console.log(`false alarms of strobe: ${alarms} of 160`)
    expect(alarms).toBe(0)
  })

  it('is not looked for in a single frame or in the dark', () => {
    expect(strobes([{ seconds: 1 }])).toEqual([null])
    expect(strobes([{ seconds: 1e-6 }, { seconds: 2e-6 }, { seconds: 4e-6 }])).toEqual([null, null, null])
    expect(strobes([{ seconds: 1 }, { seconds: 2 }]).length).toBe(2)
  })
})
