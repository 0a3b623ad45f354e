import { describe, expect, it } from 'vitest'
import { type Light, type MadeSensor, madeSamples, madeTown, measured } from './made-frame.fixture.ts'
import { type NoiseMeasure, noiseOfGrain } from './noise.ts'

const [width, height] = [1600, 1200]
const town = madeTown(width, height, 5)
const slope: Light = (x, _, phase) => [0.55, 1, 1, 0.7][phase]! * (0.0005 + 0.75 * (x / width) ** 3)
/** A sensor whose gain is raised: the same pixel holds fewer electrons at white and reads them with less noise. */
const atIso = (iso: number): MadeSensor => ({
  fullWellElectrons: 600_000 / iso,
  readNoiseElectrons: 1.2 + 2.4 * Math.sqrt(100 / iso),
})

const off = (found: number, truth: number) => Math.abs(found / truth - 1)
const percent = (v: number) => `${(100 * v).toFixed(1)} %`

describe('noise of a frame', () => {
  for (const [name, light] of [
    ['a slope of light', slope],
    ['a town with edges and rough ground', town],
  ] as const)
    it(`of ${name}: full well and read noise within 5 % of truth from ISO 100 to 3200`, () => {
      let [worstWell, worstRead, told] = [0, 0, 0]
      for (const iso of [100, 400, 800, 1600, 3200]) {
        const sensor = atIso(iso)
        const { levels } = measured(madeSamples(sensor, width, height, light, iso), width, height)
        for (const found of levels.noise!.measured) {
          expect(found).not.toBeNull()
          worstWell = Math.max(worstWell, off(found!.fullWellElectrons, sensor.fullWellElectrons))
          if (found!.readElectrons === null) continue
          told++
          worstRead = Math.max(worstRead, off(found!.readElectrons, sensor.readNoiseElectrons))
        }
      }
      console.log(
        `${name}: worst full well ${percent(worstWell)}, read noise ${percent(worstRead)}, told ${told} of 15`,
      )
      expect(worstWell).toBeLessThan(0.05)
      expect(worstRead).toBeLessThan(0.05)
      expect(told).toBeGreaterThan(7)
    })

  it('of a bracket, pooled: within 5 % over six stops of exposure, where single frames are too dark or too bright', () => {
    let [worstWell, worstRead] = [0, 0]
    for (const iso of [100, 800]) {
      const sensor = atIso(iso)
      const frames = [-4, -2, 0, 2].map((stops) => {
        const light: Light = (x, y, p) => 2 ** stops * town(x, y, p)
        return measured(madeSamples(sensor, width, height, light, 40 + stops), width, height).levels.noise!
      })
      for (const colour of [0, 1, 2]) {
        const pooled = noiseOfGrain(frames.map((f) => f.grain[colour]!)) as NoiseMeasure
        worstWell = Math.max(worstWell, off(pooled.fullWellElectrons, sensor.fullWellElectrons))
        worstRead = Math.max(worstRead, off(pooled.readElectrons!, sensor.readNoiseElectrons))
      }
    }
    console.log(`pooled: worst full well ${percent(worstWell)}, read noise ${percent(worstRead)}`)
    expect(worstWell).toBeLessThan(0.05)
    expect(worstRead).toBeLessThan(0.05)
  })

  it('is held against the file’s profile: the true one agrees, one of twice the ISO is told with its ratio', () => {
    const sensor = atIso(400)
    const term = (well: number) => ({ scale: 1 / well, offset: (sensor.readNoiseElectrons / well) ** 2 })
    const samples = madeSamples(sensor, width, height, town, 9)
    const against = (well: number) =>
      measured(samples, width, height, { profile: [term(well), term(well), term(well)] }).levels.noise!.profile!
    const same = against(sensor.fullWellElectrons)
    const half = against(sensor.fullWellElectrons / 2)
    console.log(
      `ratio to the true profile ${same.ratio.map((r) => r!.toFixed(3)).join(', ')}; to one of half the well ${half.ratio.map((r) => r!.toFixed(3)).join(', ')}`,
    )
    expect(same.agrees).toBe(true)
    for (const r of same.ratio) expect(off(r!, 1)).toBeLessThan(0.05)
    expect(half.agrees).toBe(false)
    // Shot noise of twice the well: the root of a half, and read noise half: between 0.5 and 0.71.
    for (const r of half.ratio) expect(r!).toBeGreaterThan(0.5)
    for (const r of half.ratio) expect(r!).toBeLessThan(0.74)
  })

  it('of a colour that the camera halves before writing is told for that colour', () => {
    const sensor = atIso(400)
    const samples = madeSamples(sensor, width, height, slope, 9)
    for (let y = 1; y < height; y += 2)
      for (let x = 1; x < width; x += 2) samples[y * width + x] = Math.round(256 + (samples[y * width + x]! - 256) / 2)
    const wells = measured(samples, width, height).levels.noise!.measured.map((m) => m!.fullWellElectrons)
    for (const [c, truth] of [1500, 1500, 3000].entries()) expect(off(wells[c]!, truth)).toBeLessThan(0.05)
  })

  it('is not told of frames that are flat, black, saturated or tiny', () => {
    const told = (samples: Uint16Array, w: number, h: number) =>
      measured(samples, w, h).levels.noise!.measured.some((m) => m !== null)
    const none = (v: number) => new Uint16Array(width * height).fill(v)
    expect(told(none(1000), width, height)).toBe(false)
    expect(told(none(0), width, height)).toBe(false)
    expect(told(none(4095), width, height)).toBe(false)
    expect(told(madeSamples(atIso(100), 100, 80, slope, 1), 100, 80)).toBe(false)
    // No light at all: read noise there is, but no slope.
    expect(
      told(
        madeSamples(atIso(100), 800, 600, () => 0, 1),
        800,
        600,
      ),
    ).toBe(false)
  })
})
