import { describe, expect, it } from 'vitest'
import { seededRandom } from '#core/base'
import { estimateNoise } from './estimate.ts'
import { electronsOf, type SensorElectrons } from './noise.ts'

type Scene = (x: number, y: number) => number

const width = 1024
const height = 768
const black = [256, 257, 255, 256] as const
const white = 4095

/** A frame of known electrons: Poisson light, Gaussian read noise, rounded codes; `scene` is 0..1 of the full well. */
function frame(sensor: SensorElectrons, scene: Scene, seed: number, digitalGain = [1, 1, 1, 1]) {
  const random = seededRandom(seed)
  const samples = new Uint16Array(width * height)
  const range = white - Math.max(...black)
  // Red, green and blue see unlike shares of the light, as through a Bayer filter.
  const share = [0.55, 1, 1, 0.7]
  for (let y = 0; y < height; y++)
    for (let x = 0; x < width; x++) {
      const phase = ((y & 1) << 1) | (x & 1)
      const electrons =
        random.poisson(scene(x, y) * share[phase]! * sensor.fullWellElectrons) +
        sensor.readNoiseElectrons * random.normal()
      const code = black[phase]! + ((digitalGain[phase]! * electrons) / sensor.fullWellElectrons) * range
      samples[y * width + x] = Math.min(Math.max(Math.round(code), 0), white)
    }
  return { samples, width, height, black, white, region: { x: 0, y: 0, width, height } }
}

/** Blurred squares, bars and rough ground over a wide range of light: what a lens of about 1 px blur leaves of a town. */
function town(seed: number): Scene {
  const random = seededRandom(seed)
  const houses = Array.from({ length: 60 }, () => ({
    x: random.uniform() * width,
    y: random.uniform() * height,
    w: 20 + random.uniform() * 120,
    h: 20 + random.uniform() * 90,
    light: 0.6 * random.uniform() ** 3,
  }))
  const soft = (d: number) => 1 / (1 + Math.exp(-d / 0.8))
  const canvas = new Float64Array(width * height)
  for (let y = 0; y < height; y++)
    for (let x = 0; x < width; x++) {
      let v = 0.001 + 0.12 * (1 - y / height) ** 2
      for (const h of houses) {
        const inside = soft(x - h.x) * soft(h.x + h.w - x) * soft(y - h.y) * soft(h.y + h.h - y)
        v += (h.light - v) * inside
      }
      // Rough ground in the lower third: texture of 20 % contrast, waves of about 10 px.
      if (y > 0.66 * height) v *= 1 + 0.2 * Math.sin(0.6 * x + 0.2 * y) * Math.sin(0.55 * y - 0.2 * x)
      canvas[y * width + x] = v
    }
  return (x, y) => canvas[y * width + x]!
}

const slope: Scene = (x) => 0.002 + 0.75 * (x / width) ** 2

const scenes: [string, Scene][] = [
  ['a smooth slope', slope],
  ['a town with edges, and rough ground over a third', town(5)],
]
const sensors: SensorElectrons[] = [
  { fullWellElectrons: 6000, readNoiseElectrons: 1.8 },
  { fullWellElectrons: 6000, readNoiseElectrons: 6 },
  { fullWellElectrons: 800, readNoiseElectrons: 2.5 },
]

describe('noise from one frame', () => {
  for (const [name, scene] of scenes)
    it.each(sensors)(
      `of ${name}: full well to 10 %, read noise to 15 % ($fullWellElectrons e⁻, $readNoiseElectrons e⁻)`,
      (sensor) => {
        const found = estimateNoise(frame(sensor, scene, 11))!
        const { fullWellElectrons, readNoiseElectrons } = electronsOf(found.phases[0])
        // Rounding to codes adds 1/12 code² to what read noise can be told apart from.
        const code = sensor.fullWellElectrons / (white - Math.max(...black))
        const read = Math.hypot(sensor.readNoiseElectrons, code / Math.sqrt(12))
        console.log(
          `${name}: full well ${fullWellElectrons.toFixed(0)} (${sensor.fullWellElectrons}), read ${readNoiseElectrons.toFixed(2)} (${read.toFixed(2)}) e⁻, ` +
            `from ${found.offsetFrom}, ${found.blocksUsed} of ${found.blocksSeen} blocks`,
        )
        expect(Math.abs(fullWellElectrons / sensor.fullWellElectrons - 1)).toBeLessThan(0.1)
        expect(Math.abs(readNoiseElectrons / read - 1)).toBeLessThan(0.15)
      },
    )

  it('reads the offset from a masked border when the picture has no dark part', () => {
    const sensor = { fullWellElectrons: 6000, readNoiseElectrons: 4 }
    const bordered = frame(sensor, (x, y) => (x < 32 ? 0 : 0.3 + (0.4 * y) / height), 3)
    const masked = { x: 0, y: 0, width: 32, height }
    const open = { ...bordered, region: { x: 32, y: 0, width: width - 32, height } }
    const found = estimateNoise(open, [masked])!
    const { fullWellElectrons, readNoiseElectrons } = electronsOf(found.phases[0])
    console.log(
      `masked border: full well ${fullWellElectrons.toFixed(0)} (6000), read ${readNoiseElectrons.toFixed(2)} (4.00) e⁻`,
    )
    expect(found.offsetFrom).toBe('masked-areas')
    expect(Math.abs(fullWellElectrons / 6000 - 1)).toBeLessThan(0.1)
    expect(Math.abs(readNoiseElectrons / 4 - 1)).toBeLessThan(0.15)
    const without = estimateNoise(open)!
    expect(without.offsetFrom).toBe('assumed')
    expect(Math.abs(electronsOf(without.phases[0]).fullWellElectrons / 6000 - 1)).toBeLessThan(0.1)
  })

  it('of a camera that halves blue before it writes the file is known for each phase', () => {
    const sensor = { fullWellElectrons: 6000, readNoiseElectrons: 4 }
    const found = estimateNoise(frame(sensor, slope, 21, [1, 1, 1, 0.5]))!
    const wells = found.phases.map((t) => electronsOf(t).fullWellElectrons)
    console.log(`blue halved: full wells ${wells.map((w) => w.toFixed(0)).join(', ')} (6000, 6000, 6000, 12000) e⁻`)
    for (const [phase, expected] of [6000, 6000, 6000, 12000].entries())
      expect(Math.abs(wells[phase]! / expected - 1)).toBeLessThan(0.1)
  })

  it('is not misled by areas that clip below the stated white', () => {
    const sensor = { fullWellElectrons: 6000, readNoiseElectrons: 1.8 }
    const clipped = frame(sensor, slope, 5)
    // A plateau brightened by a ramp, as where a camera undoes its lens's shade.
    for (let i = 0; i < clipped.samples.length; i++)
      clipped.samples[i] = Math.min(clipped.samples[i]!, 1800 + ((i % width) >> 2))
    const { fullWellElectrons, readNoiseElectrons } = electronsOf(estimateNoise(clipped)!.phases[0])
    console.log(
      `early clipping: full well ${fullWellElectrons.toFixed(0)} (6000), read ${readNoiseElectrons.toFixed(2)} (1.86) e⁻`,
    )
    expect(Math.abs(fullWellElectrons / 6000 - 1)).toBeLessThan(0.1)
    expect(Math.abs(readNoiseElectrons / 1.86 - 1)).toBeLessThan(0.15)
  })

  it('is not misled by hot pixels in one sample of five hundred', () => {
    const sensor = { fullWellElectrons: 6000, readNoiseElectrons: 1.8 }
    const spotted = frame(sensor, slope, 8)
    const random = seededRandom(2)
    for (let i = 0; i < spotted.samples.length; i++)
      if (random.uniform() < 0.002)
        spotted.samples[i] = Math.min(white, spotted.samples[i]! + 100 + 1000 * random.uniform())
    const { fullWellElectrons, readNoiseElectrons } = electronsOf(estimateNoise(spotted)!.phases[0])
    console.log(
      `hot pixels: full well ${fullWellElectrons.toFixed(0)} (6000), read ${readNoiseElectrons.toFixed(2)} (1.81) e⁻`,
    )
    expect(Math.abs(fullWellElectrons / 6000 - 1)).toBeLessThan(0.1)
    expect(Math.abs(readNoiseElectrons / 1.81 - 1)).toBeLessThan(0.15)
  })

  it('says nothing of frames that are clipped, empty or too small', () => {
    const sensor = { fullWellElectrons: 6000, readNoiseElectrons: 1.8 }
    expect(estimateNoise(frame(sensor, () => 2, 1))).toBeNull()
    const flat = {
      samples: new Uint16Array(width * height),
      width,
      height,
      black,
      white,
      region: { x: 0, y: 0, width, height },
    }
    expect(estimateNoise(flat)).toBeNull()
    expect(estimateNoise({ ...frame(sensor, slope, 1), region: { x: 0, y: 0, width: 100, height: 100 } })).toBeNull()
  })
})
