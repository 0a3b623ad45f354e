import { describe, expect, it } from 'vitest'
import { seededRandom } from '#core/base'
import { maskedBlack, rowBanding } from './black.ts'
import { type Light, madeSamples, madeTown, measured } from './made-frame.fixture.ts'

const [width, height] = [800, 600]
const sensor = { fullWellElectrons: 6000, readNoiseElectrons: 3 }
const night: Light = (x, y) => (x > 600 ? 0.2 * (y / height) : 0.00001)

describe('black', () => {
  it('of masked areas is told to 0.1 code beside hot pixels', () => {
    const random = seededRandom(2)
    let worst = 0
    for (const off of [-3, 0, 0.4, 7]) {
      const samples = madeSamples({ ...sensor, black: [256, 256, 256, 256] }, width, height, () => 0, 9)
      for (let i = 0; i < samples.length; i++) {
        samples[i] = Math.round(samples[i]! + off + random.uniform() - 0.5)
        if (random.uniform() < 0.002) samples[i] = 3000
      }
      const found = maskedBlack(samples, width, [{ x: 0, y: 0, width: 48, height }], () => 256)!
      worst = Math.max(worst, Math.abs(found.offsetCodes - off))
      expect(found.errorCodes).toBeLessThan(0.1)
    }
    console.log(`masked black: worst ${worst.toFixed(3)} codes`)
    expect(worst).toBeLessThan(0.1)
    expect(maskedBlack(new Uint16Array(100), 10, [{ x: 0, y: 0, width: 10, height: 10 }], () => 0)).toBeNull()
    // An area that a damaged file puts outside the picture.
    expect(maskedBlack(new Uint16Array(100), 10, [{ x: 5, y: 900, width: 100, height: 100 }], () => 0)).toBeNull()
  })

  it('can stand at most a little over the darkest cells', () => {
    const samples = madeSamples(sensor, width, height, night, 3)
    const at = (black: number) =>
      measured(samples, width, height, { black: [black, black, black, black] }).levels.blackAtMostCodes!
    expect(at(256)).toBeGreaterThan(-0.1)
    expect(at(256)).toBeLessThan(1)
    // A stated black ten codes too high is seen to be.
    expect(at(266)).toBeLessThan(-8)
  })

  it('rows that jump together are seen from a third of the read noise on, and not where there are none', () => {
    const town = madeTown(width, height, 3)
    const random = seededRandom(5)
    let worst = 0
    for (const codes of [0, 0.7, 2, 6]) {
      const samples = madeSamples(sensor, width, height, (x, y, p) => 0.2 * town(x, y, p), 4)
      for (let y = 0; y < height; y++) {
        const jump = codes * random.normal()
        for (let x = 0; x < width; x++) samples[y * width + x] = Math.max(0, Math.round(samples[y * width + x]! + jump))
      }
      const found = rowBanding(samples, width, height)!
      if (codes === 0) expect(found.codes).toBe(0)
      else worst = Math.max(worst, Math.abs(found.codes / codes - 1))
      expect(found.leastCodes).toBeLessThan(0.7)
    }
    console.log(`row banding: worst ${(100 * worst).toFixed(0)} %`)
    expect(worst).toBeLessThan(0.2)
    expect(rowBanding(new Uint16Array(100), 10, 10)).toBeNull()
    expect(rowBanding(new Uint16Array(6400), 100, 64)).toEqual({ codes: 0, leastCodes: 0 })
  })
})
