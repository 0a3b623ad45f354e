import { describe, expect, it } from 'vitest'
import { seededRandom } from '#core/base'
import { encodeSrgb } from '#core/colour'
import { solveResponse } from './response.ts'

/** Codes of a scene of many levels through a known response, with a code of noise. */
function bracket(response: (exposure: number) => number, seed: number) {
  const random = seededRandom(seed)
  const stops = [-3, -2, -1, 0, 1, 2, 3, 4]
  const codes = Array.from({ length: 600 }, () => {
    const radiance = 2 ** (-13 + 13 * random.uniform())
    return stops.map((s) =>
      Math.min(255, Math.max(0, Math.round(255 * response(Math.min(1, radiance * 2 ** s)) + 0.7 * random.normal()))),
    )
  })
  return { codes, stops }
}

describe('the response of finished pictures', () => {
  it.each([
    ['the standard curve of sRGB (IEC 61966-2-1)', (e: number) => encodeSrgb(e)],
    ['a gamma of 1/2.6 with a shoulder', (e: number) => (1.25 * e ** (1 / 2.6)) / (1 + 0.25 * e ** (1 / 2.6))],
  ])('is recovered to 0.1 stop between codes 12 and 245: %s', (_, response) => {
    const curve = solveResponse(bracket(response, 5))
    let worst = 0
    let at = 0
    for (let z = 12; z <= 245; z++) {
      // The exposure whose code is z, by bisection on the known response.
      let [low, high] = [0, 1]
      for (let i = 0; i < 60; i++) {
        const mid = (low + high) / 2
        if (255 * response(mid) < z) low = mid
        else high = mid
      }
      const error = Math.abs(Math.log2(curve[z]! / curve[128]!) - Math.log2(low / inverse(response, 128)))
      if (error > worst) {
        worst = error
        at = z
      }
    }
    console.log(`response: worst ${worst.toFixed(3)} stop, at code ${at}`)
    expect(worst).toBeLessThan(0.1)
  })

  it('rises everywhere and is the standard curve when there is nothing to learn from', () => {
    const curve = solveResponse({ codes: [], stops: [0, 1] })
    for (let z = 1; z < 256; z++) expect(curve[z]!).toBeGreaterThan(curve[z - 1]!)
    expect(Math.abs(Math.log2(curve[188]! / curve[255]!) - Math.log2(0.502886458))).toBeLessThan(0.02)
  })
})

function inverse(response: (e: number) => number, z: number): number {
  let [low, high] = [0, 1]
  for (let i = 0; i < 60; i++) {
    const mid = (low + high) / 2
    if (255 * response(mid) < z) low = mid
    else high = mid
  }
  return low
}
