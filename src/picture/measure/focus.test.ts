import { describe, expect, it } from 'vitest'
import { testCrew } from '../../../test/kernels.ts'
import { measureSmears, measureTasks } from './index.ts'
import { type MadeNight, madeNight, SENSOR, straight } from './smear.fixture.ts'

const crew = testCrew(measureTasks, 48 << 20)

async function measure(more: Partial<MadeNight>) {
  const n: MadeNight = {
    ...{ width: 1100, height: 900, seed: 3, path: straight(0, 0), lensSigma: 0.5, lamps: 90, lines: 4 },
    ...more,
  }
  const mark = crew.arena.mark()
  const samples = madeNight(n)
  const at = crew.arena.alloc(samples.length * 2)
  crew.arena.u16(at, samples.length).set(samples)
  const b = SENSOR.black
  const { width, height } = n
  const view = { at, width, height, cfa: [0, 1, 1, 2] as const, black: [b, b, b, b] as const, white: SENSOR.white }
  const [result] = await measureSmears(crew, [view])
  crew.arena.release(mark)
  return result!
}

/** A disc of radius R has the variance R²/4 along either axis; the lens adds its own. */
const discSpread = (radius: number, sigma: number) => Math.sqrt(sigma * sigma + (radius * radius) / 4)

describe('focus', () => {
  it('defocus is never called motion: discs of radius 0.5 to 5 px have no direction and stay under half the blur', async () => {
    let [worst, longest] = [0, 0]
    for (const discRadius of [0.5, 1, 2, 3, 4, 5]) {
      const { smear, focus } = await measure({ discRadius, lamps: 60, lines: 2, seed: 20 + discRadius })
      const truth = discSpread(discRadius, 0.5)
      worst = Math.max(worst, Math.abs(focus!.blurPixels / truth - 1))
      longest = Math.max(longest, (smear?.pixels ?? 0) / truth)
      expect(smear?.directionDegrees ?? null).toBeNull()
    }
    console.log(
      `defocus: blur within ${(100 * worst).toFixed(1)} %, called motion for ${longest.toFixed(2)} of the blur at the most`,
    )
    expect(worst).toBeLessThan(0.05)
    expect(longest).toBeLessThan(0.5)
  })

  it('motion is never called defocus: movements of 0 to 10 px leave the blur of the lens within 5 %', async () => {
    let worst = 0
    for (const length of [0, 1, 3, 6, 10]) {
      const { focus } = await measure({ path: straight(length, 33), lensSigma: 0.8, seed: 40 + length })
      worst = Math.max(worst, Math.abs(focus!.blurPixels / 0.8 - 1))
    }
    console.log(`blur of the lens under motion: within ${(100 * worst).toFixed(1)} %`)
    expect(worst).toBeLessThan(0.05)
  })

  it('motion is found in a frame out of focus: 4 px within 5 % behind a disc of radius 3', async () => {
    const { smear, focus } = await measure({ path: straight(4, 120, 12), discRadius: 3, lensSigma: 0.5 })
    expect(Math.abs(smear!.pixels - 4)).toBeLessThan(0.2)
    expect(Math.abs(smear!.directionDegrees! - 120)).toBeLessThan(5)
    expect(Math.abs(focus!.blurPixels / discSpread(3, 0.5) - 1)).toBeLessThan(0.05)
  })

  it('shows a tilted plane of focus and a curved field', async () => {
    const tilted = await measure({ lensSigma: (u) => 0.9 + 0.4 * u, lamps: 220, seed: 60 })
    const rows = [0, 1, 2].map((r) => tilted.focus!.field.slice(3 * r, 3 * r + 3).map((c) => c.blurPixels!))
    for (const [left, middle, right] of rows as [number, number, number][]) {
      expect(left).toBeLessThan(middle)
      expect(middle).toBeLessThan(right)
    }
    const curved = await measure({ lensSigma: (u, v) => 0.6 + 0.4 * (u * u + v * v), lamps: 220, seed: 61 })
    const corners = [0, 2, 6, 8].map((i) => curved.focus!.field[i]!.blurPixels).filter((b) => b !== null)
    expect(corners.length).toBeGreaterThan(2)
    expect(Math.min(...corners)).toBeGreaterThan(1.3 * curved.focus!.field[4]!.blurPixels!)
    expect(curved.focus!.unevenness).toBeGreaterThan(1.3)
    const even = await measure({ lensSigma: 0.8, lamps: 220, seed: 62 })
    console.log(
      `unevenness: curved ${curved.focus!.unevenness!.toFixed(2)}, even ${even.focus!.unevenness!.toFixed(2)}`,
    )
    expect(even.focus!.unevenness).toBeLessThan(1.1)
  })
})
