import { describe, expect, it } from 'vitest'
import { testCrew } from '../../../test/kernels.ts'
import { measureSmears, measureTasks } from './index.ts'
import { type MadeNight, madeEdges, SENSOR, straight } from './smear.fixture.ts'

const crew = testCrew(measureTasks, 48 << 20)

async function measure(more: Partial<MadeNight>) {
  const n: MadeNight = { width: 1232, height: 1008, seed: 1, path: straight(0, 0), lensSigma: 0.8, lamps: 0, ...more }
  const mark = crew.arena.mark()
  const samples = madeEdges(n)
  const at = crew.arena.alloc(samples.length * 2)
  crew.arena.u16(at, samples.length).set(samples)
  const b = SENSOR.black
  const view = { at, width: n.width, height: n.height, cfa: [0, 1, 1, 2] as const, black: [b, b, b, b] as const }
  const [result] = await measureSmears(crew, [{ ...view, white: SENSOR.white }])
  crew.arena.release(mark)
  return result!
}

describe('smear from edges', () => {
  it('is within 0.2 px or 6 % of the made movement where no lamp stands, 2 to 10 px; direction within 5°', async () => {
    let [worst, worstDegrees] = [0, 0]
    for (const lensSigma of [0.5, 0.9])
      for (const [i, length] of [2, 3, 4, 7, 10].entries()) {
        const degrees = 20 + 35 * i
        const { smear, focus } = await measure({ seed: 5 + i, path: straight(length, degrees), lensSigma })
        expect(smear?.from).toBe('edges')
        worst = Math.max(worst, Math.abs(smear!.pixels - length) / Math.max(0.2, 0.06 * length))
        if (smear!.directionDegrees !== null) {
          const off = Math.abs(smear!.directionDegrees - degrees)
          worstDegrees = Math.max(worstDegrees, Math.min(off, 180 - off))
        } else expect(length).toBeLessThan(4)
        if (length <= 4) expect(Math.abs(focus!.blurPixels - lensSigma)).toBeLessThan(0.1)
      }
    console.log(`smear from edges: worst ${worst.toFixed(2)} of the tolerance, direction ${worstDegrees.toFixed(1)}°`)
    expect(worst).toBeLessThan(1)
    expect(worstDegrees).toBeLessThan(5)
  })

  it('softness without movement has no direction', async () => {
    for (const lensSigma of [0.8, 1.6, 2.4]) {
      const { smear } = await measure({ lensSigma, seed: 30 })
      expect(smear?.directionDegrees ?? null).toBeNull()
    }
  })
})
