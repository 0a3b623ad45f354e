import { describe, expect, it } from 'vitest'
import { seededRandom } from '#core/base'
import { LEVEL_BINS } from '#core/kernels'
import { binShift, clipLevels } from './clip-level.ts'
import { type Light, madeSamples, measured } from './made-frame.fixture.ts'

const [width, height] = [800, 600]
const sensor = { fullWellElectrons: 6000, readNoiseElectrons: 1.8 }
/** A tenth of the picture is a lamp far over white. */
const lamp: Light = (x) => (x < 80 ? 3 : 0.02 + 0.4 * (x / width) ** 2)

describe('the clipped share', () => {
  it('is counted at the file’s white', () => {
    const { levels } = measured(madeSamples(sensor, width, height, lamp, 1), width, height)
    for (const share of Object.values(levels.clipped)) expect(share).toBeCloseTo(0.1, 3)
    expect(levels.clipsEarly).toBe(false)
  })

  it('is found where a camera halves blue before writing, or never reaches the white it states', () => {
    const samples = madeSamples(sensor, width, height, lamp, 1)
    for (let y = 1; y < height; y += 2)
      for (let x = 1; x < width; x += 2) samples[y * width + x] = 256 + ((samples[y * width + x]! - 256) >> 1)
    const halved = measured(samples, width, height).levels
    expect(halved.clipsEarly).toBe(true)
    for (const share of Object.values(halved.clipped)) expect(share).toBeCloseTo(0.1, 3)
    const low = madeSamples({ ...sensor, white: 3600 }, width, height, lamp, 1)
    const early = measured(low, width, height).levels
    expect(early.clipsEarly).toBe(true)
    for (const share of Object.values(early.clipped)) expect(share).toBeCloseTo(0.1, 3)
  })

  it('is not taken from the brightest of a scene that ends below white', () => {
    const random = seededRandom(4)
    for (const last of [900, 2000, 3500]) {
      const tables = new Uint32Array(4 * LEVEL_BINS)
      for (let phase = 0; phase < 4; phase++)
        for (let i = 0; i < 200_000; i++) {
          // A lit façade at one level, with its noise; and a slope of light up to it.
          const v = i & 1 ? last * random.uniform() : last + 0.4 * Math.sqrt(last) * random.normal()
          tables[phase * LEVEL_BINS + Math.min(4095, Math.max(0, Math.round(v)))]! += 1
        }
      expect(clipLevels(tables, { white: 4095, range: 3839 })).toEqual([4085, 4085, 4085, 4085])
    }
  })

  it('bins hold whole codes up to 12 bits and groups beyond', () => {
    expect([255, 1023, 4095, 4096, 16383, 65535].map(binShift)).toEqual([0, 0, 0, 1, 2, 4])
  })
})
