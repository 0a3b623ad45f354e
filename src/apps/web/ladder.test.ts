import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import type { PrintSettings } from '#jobs/contract'
import { type LadderRung, rungsOf, settingsWith, withRung, zoneOf } from './ladder.ts'

const base: PrintSettings = {
  anchorStops: -3.2,
  baseCompression: 0.2,
  rungs: [-11, -9, -7, -5.5, -4.5, -3.5, -2.75, -2, -1.25, -0.6, 0, 0.5, 1, 2, 3, 4, 5].map((s) => ({
    sceneStops: s,
    zone: 10 / (1 + 2 ** (-s - 0.2)),
  })),
  lampWhite: { fromZone: 8.6, most: 0.9 },
  chromaNoise: { scale: 1e-5, offset: 1e-7 },
}
const scene = [-7.6, -5.8, -4.9, -0.9, 3.4]
const start = rungsOf(base, scene)

const move = fc.record({
  index: fc.integer({ min: 0, max: 4 }),
  zone: fc.option(fc.double({ min: -2, max: 12, noNaN: true }), { nil: undefined }),
  sceneStops: fc.option(fc.double({ min: -12, max: 8, noNaN: true }), { nil: undefined }),
})

const movedBy = (moves: readonly { index: number; zone?: number | undefined; sceneStops?: number | undefined }[]) =>
  moves.reduce<LadderRung[]>(
    (rungs, m) =>
      withRung(rungs, m.index, {
        ...(m.zone === undefined ? {} : { zone: m.zone }),
        ...(m.sceneStops === undefined ? {} : { sceneStops: m.sceneStops }),
      }),
    start,
  )

describe('the tone ladder in the hand', () => {
  it('stays a rising curve from black to white, whatever is done to its rungs', () => {
    fc.assert(
      fc.property(fc.array(move, { maxLength: 12 }), (moves) => {
        const { rungs } = settingsWith(base, start, movedBy(moves))
        for (const [i, r] of rungs.entries()) {
          expect(r.zone).toBeGreaterThanOrEqual(0)
          expect(r.zone).toBeLessThanOrEqual(10)
          const next = rungs[i + 1]
          if (next) expect([next.sceneStops > r.sceneStops, next.zone >= r.zone]).toEqual([true, true])
        }
      }),
    )
  })

  it('leaves the print as it was when nothing moved', () => {
    expect(settingsWith(base, start, start)).toBe(base)
    expect(settingsWith(base, start, movedBy([{ index: 2 }]))).toBe(base)
  })

  it('prints a rung’s stop in the zone that the hand gave it', () => {
    let worst = 0
    for (const index of [1, 2, 3])
      for (const by of [-0.8, -0.3, 0.3, 0.8]) {
        const to = withRung(start, index, { zone: start[index]!.zone + by })
        worst = Math.max(
          worst,
          Math.abs(zoneOf(settingsWith(base, start, to), to[index]!.sceneStops) - to[index]!.zone),
        )
      }
    console.log(`worst distance from the wanted zone: ${worst.toFixed(3)} zones`)
    expect(worst).toBeLessThan(0.15)
  })

  it('takes what is elsewhere along little: a lamp’s rung moves no ground', () => {
    const to = withRung(start, 4, { zone: start[4]!.zone - 1 })
    const settings = settingsWith(base, start, to)
    expect(zoneOf(settings, scene[1]!)).toBeCloseTo(start[1]!.zone, 6)
  })
})
