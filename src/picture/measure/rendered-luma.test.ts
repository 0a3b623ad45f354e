import { describe, expect, it } from 'vitest'
import { encodeSrgb } from '#core/colour'
import { testCrew } from '../../../test/kernels.ts'
import { measureSmears, measureTasks, viewRendered } from './index.ts'
import { madeNight, SENSOR, straight } from './smear.fixture.ts'

describe('a finished picture', () => {
  const crew = testCrew(measureTasks, 48 << 20)

  it('one of sRGB curve, 8 bits and its noise gives the made movement within 0.15 px or 5 %', async () => {
    const [width, height] = [1000, 800]
    let worst = 0
    for (const length of [1, 2.5, 6]) {
      const light = madeNight({
        width,
        height,
        seed: 3,
        path: straight(length, 50),
        lensSigma: 0.9,
        lamps: 100,
        cfa: null,
      })
      const mark = crew.arena.mark()
      const from = crew.arena.alloc(width * height * 3)
      const to = crew.arena.alloc(width * height * 2)
      const codes = crew.arena.u8(from, width * height * 3)
      light.forEach((v, i) => {
        const linear = Math.max(0, (v - SENSOR.black) / (SENSOR.white - SENSOR.black))
        codes.fill(Math.round(255 * encodeSrgb(linear)), 3 * i, 3 * i + 3)
      })
      const [found] = await measureSmears(crew, [await viewRendered(crew, from, to, { width, height })])
      crew.arena.release(mark)
      worst = Math.max(worst, Math.abs(found!.smear!.pixels - length) / Math.max(0.15, 0.05 * length))
    }
    console.log(`smear in a finished picture: worst ${worst.toFixed(2)} of the tolerance`)
    expect(worst).toBeLessThan(1)
  })

  it('white is 65535, black 0, and one clipped colour clips the sample', async () => {
    const mark = crew.arena.mark()
    const from = crew.arena.alloc(12)
    const to = crew.arena.alloc(8)
    crew.arena.u8(from, 12).set([0, 0, 0, 255, 255, 255, 255, 10, 10, 128, 128, 128])
    const view = await viewRendered(crew, from, to, { width: 4, height: 1 })
    // 128 of 255 is 0.21586 of linear light (IEC 61966-2-1).
    expect([...crew.arena.u16(view.at, 4)]).toEqual([0, 65535, 65535, Math.round(65535 * 0.21586050011)])
    crew.arena.release(mark)
  })
})
