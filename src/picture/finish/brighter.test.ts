import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { brighterLook } from './brighter.ts'
import { luminanceOfZone, toneCurve } from './curve.ts'
import { ladder } from './look.ts'

const look = (rungs: ReturnType<typeof ladder>) => ({
  anchorStops: 0,
  baseCompression: 0.2,
  rungs,
  lampWhite: { fromZone: 8.6, most: 0.9 },
  chromaNoise: { scale: 0, offset: 0 },
})
/** Light by scene stops, 1 = white of the ordinary print. */
function lights(rungs: ReturnType<typeof ladder>, headroom: number) {
  const ordinary = toneCurve(rungs)
  const brighter = toneCurve(brighterLook(look(rungs), headroom).rungs)
  return {
    ordinary: (s: number) => luminanceOfZone(ordinary(s)),
    brighter: (s: number) => luminanceOfZone(brighter(s)) * 2 ** headroom,
  }
}

describe('the brighter rendition', () => {
  it('is the ordinary print up to mid-grey, within 2 % of its light from half a zone up', () => {
    let worst = 0
    for (const white of [2.2, 4, 9]) {
      const { ordinary, brighter } = lights(ladder(-6, white), 2.5)
      for (let s = -6; s <= 0; s += 0.05) {
        if (ordinary(s) > luminanceOfZone(0.5)) worst = Math.max(worst, Math.abs(brighter(s) / ordinary(s) - 1))
      }
    }
    console.log(`brighter rendition under mid-grey: worst ${(100 * worst).toFixed(2)} % of light`)
    expect(worst).toBeLessThan(0.02)
  })

  it('rises everywhere, never lies under the ordinary one by more than 2 %, and stays within its headroom', () => {
    fc.assert(
      fc.property(
        fc.double({ min: -9, max: -1, noNaN: true }),
        fc.double({ min: 2.2, max: 9, noNaN: true }),
        fc.double({ min: 0.5, max: 4, noNaN: true }),
        (black, white, headroom) => {
          const { ordinary, brighter } = lights(ladder(black, white), headroom)
          let before = 0
          for (let s = -11; s <= white + 1; s += 0.1) {
            const light = brighter(s)
            expect(light).toBeGreaterThanOrEqual(before - 1e-9)
            expect(light).toBeGreaterThan(0.98 * ordinary(s) - 1e-4)
            expect(light).toBeLessThanOrEqual(2 ** headroom * 1.0001)
            before = light
          }
        },
      ),
    )
  })
})
