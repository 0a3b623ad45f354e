import { existsSync } from 'node:fs'
import { describe, expect, it } from 'vitest'
import { type Failure, seededRandom } from '#core/base'
import type { CfaPattern } from '#core/pixels'
import {
  bilinear,
  gradientCorrected,
  type Mosaic,
  meanSquare,
  mosaicOf,
  newPlanes,
  type Planes,
  psnr,
  srgbCode,
} from '../../../test/demosaic.ts'
import { samples, testCrew } from '../../../test/kernels.ts'
import { lampField, nightCrop, type Scene, sensorVariance, withNoise } from '../../../test/night.ts'
import { demosaic, demosaicTask, type MosaicPicture, noiseAtBlack } from './demosaic.ts'

const patterns: readonly CfaPattern[] = [
  [0, 1, 1, 2],
  [1, 0, 2, 1],
  [1, 2, 0, 1],
  [2, 1, 1, 0],
]

const tasks = { 'finish.demosaic': demosaicTask }
const crew = testCrew(tasks, 16 << 20)

async function through(m: Mosaic, more: Partial<MosaicPicture> = {}, hands = crew): Promise<Planes> {
  const mark = hands.arena.mark()
  const n = m.width * m.height
  const [mosaic, red, green, blue] = [0, 1, 2, 3].map(() => hands.arena.alloc(4 * n)) as [
    number,
    number,
    number,
    number,
  ]
  hands.arena.f32(mosaic, n).set(m.mosaic)
  const { width, height } = m
  await demosaic(hands, { mosaic, width, height, cfa: patterns[m.phase]!, red, green, blue, ...more })
  const out: Planes = [
    hands.arena.f32(red, n).slice(),
    hands.arena.f32(green, n).slice(),
    hands.arena.f32(blue, n).slice(),
  ]
  hands.arena.release(mark)
  return out
}

const methods: readonly (readonly [string, (m: Mosaic) => Promise<Planes>])[] = [
  ['bilinear', async (m) => bilinear(m)],
  ['gradient-corrected', async (m) => gradientCorrected(m)],
  ['ours, encoding off', (m) => through(m, { values: 'encoded' })],
  ['ours', (m) => through(m)],
]

const flat = (side: number, level: number): Planes => {
  const planes = newPlanes(side * side)
  for (const plane of planes) plane.fill(level)
  return planes
}

/** Decibels when the scene's median is shown at 10 % of white in sRGB code values. */
function shown(out: Planes, { planes, width, height }: Scene, level: number): number {
  const code = (p: Planes): Planes =>
    [0, 1, 2].map((c) => p[c as 0].map((v) => srgbCode((0.1 * v) / level))) as unknown as Planes
  return psnr(meanSquare(code(out), code(planes), width, height, 10, [0, 1, 2]), 1)
}

const scaled = (scene: Scene, level: number): Scene => ({
  ...scene,
  planes: scene.planes.map((p) => p.map((v) => Math.min(64, v * level))) as unknown as Planes,
})

const maps = {
  city_waterfront_night: [300, 160],
  rooftop_dusk_lamps: [100, 160],
  night: [300, 180],
  dawn: [200, 160],
} as const
const mapPath = (name: string) => `${samples}/radiance/${name}_1024x512.hdr`

describe.skipIf(!Object.keys(maps).every((n) => existsSync(mapPath(n))))('night scenes (sample files absent)', () => {
  it('come back better than by the linear methods from base exposure down to six stops under', async () => {
    const scenes = Object.entries(maps)
      .filter(([name]) => existsSync(mapPath(name)))
      .map(([name, [x, y]]) => nightCrop(mapPath(name), x, y, 512, 256))
    const table: Record<string, number[]> = {}
    for (const level of [0, 0.2, 0.02, 0.002]) {
      for (const [i, scene] of scenes.entries()) {
        const seen = scaled(scene, level || 0.2)
        const clean = mosaicOf(seen.planes, scene.width, scene.height, 0)
        const m = level ? withNoise(clean, seededRandom(7 + i)) : clean
        for (const [name, method] of methods) {
          table[name] ??= []
          table[name].push(shown(await method(m), seen, level || 0.2))
        }
      }
    }
    const means = Object.entries(table).map(([name, v]) => {
      const row = [0, 1, 2, 3].map((k) => v.slice(4 * k, 4 * k + 4).reduce((a, b) => a + b, 0) / 4)
      console.log(
        `night scenes, dB without noise, median at 0.2, 0.02, 0.002: ${name} ${row.map((d) => d.toFixed(2)).join(' ')}`,
      )
      return row
    })
    const [linear, corrected, straight, best] = means as [number[], number[], number[], number[]]
    expect(best[0]).toBeGreaterThan(linear[0]! + 5)
    expect(best[1]).toBeGreaterThan(linear[1]! + 5)
    expect(best[2]).toBeGreaterThan(linear[2]! + 2)
    best.forEach((v, k) => void expect(v).toBeGreaterThan(Math.max(corrected[k]!, straight[k]!)))
  })
})

describe('lamps in the dark', () => {
  const field = lampField(400)
  const m = mosaicOf(field.planes, field.width, field.height, 0)
  /** Shares of the pixels near lamps, and the colour error there in stops. */
  async function around(method: (m: Mosaic) => Promise<Planes>, saturated: boolean) {
    const clip = (v: number) => (saturated ? Math.min(v, 1) : v)
    const out = await method({ ...m, mosaic: m.mosaic.map(clip) })
    let [dark, negative, colour, n] = [0, 0, 0, 0]
    const stops = (v: number) => Math.log2(Math.max(v, 0) + 1e-4)
    for (let i = 0; i < field.near.length; i++) {
      if (!field.near[i]) continue
      n++
      const [a, b] = [out, field.planes].map((p) => p.map((plane) => plane[i]!)) as [number[], number[]]
      if (a.some((v, c) => v < 0.5 * clip(b[c]!))) dark++
      if (a.some((v) => v < 0)) negative++
      const errors = a.map((v, c) => stops(v) - stops(clip(b[c]!)))
      const mean = (errors[0]! + errors[1]! + errors[2]!) / 3
      colour += errors.reduce((s, e) => s + (e - mean) ** 2, 0) / 3
    }
    return { dark: dark / n, negative: negative / n, colourStops: Math.sqrt(colour / n) }
  }

  it.each([
    ['unclipped, up to 64 times saturation', false],
    ['clipped at saturation', true],
  ])('leave no dark ring, no negative light and no false colour: %s', async (_, saturated) => {
    for (const [name, method] of methods) {
      const r = await around(method, saturated)
      console.log(
        `lamps: ${name}: under half the true light ${(100 * r.dark).toFixed(2)} % of pixels, negative ${(100 * r.negative).toFixed(2)} %, colour ${r.colourStops.toFixed(3)} stops`,
      )
    }
    const r = await around(methods[3]![1], saturated)
    expect(r.dark).toBeLessThan(0.01)
    expect(r.negative).toBe(0)
    expect(r.colourStops).toBeLessThan(0.15)
  })
})

describe('darkness', () => {
  const side = 256
  const noisyField = (level: number) => withNoise(mosaicOf(flat(side, level), side, side, 0), seededRandom(5))
  const luma = ([r, g, b]: Planes) => r.map((v, i) => (v + g[i]! + b[i]!) / 3)

  it('shows no maze: its noise has no more direction to it than that of bilinear interpolation', async () => {
    for (const level of [0, 3e-4, 2e-3]) {
      const m = noisyField(level)
      const found: number[] = []
      for (const [, method] of methods) found.push(coherence(luma(await method(m)), side))
      console.log(
        `direction of noise (0 none, 1 stripes) at ${level}: ${methods.map(([n], i) => `${n} ${found[i]!.toFixed(3)}`).join(', ')}`,
      )
      expect(found[3]).toBeLessThan(found[0]!)
    }
  })

  // Against bilinear interpolation, which is linear and so keeps every mean.
  it('keeps its mean, to 1 % of the noise, at and near black', async () => {
    for (const level of [0, 1e-4, 3e-4, 1e-3, 2e-3]) {
      const m = noisyField(level)
      const mean = (p: ArrayLike<number>) => Array.from(p).reduce((a, b) => a + b, 0) / p.length
      const sigma = Math.sqrt(sensorVariance(level))
      const bias = mean(luma(await through(m))) - mean(luma(bilinear(m)))
      console.log(`bias at ${level}: ${((100 * bias) / sigma).toFixed(2)} % of the noise`)
      expect(Math.abs(bias)).toBeLessThan(0.01 * sigma)
    }
  })

  it('is measured: the noise at black is found to 10 %, and scales with the picture', () => {
    const m = noisyField(1e-4)
    const found = noiseAtBlack(m.mosaic, side, side)
    console.log(`noise at black: ${found.toExponential(2)} of ${Math.sqrt(sensorVariance(1e-4)).toExponential(2)}`)
    expect(found / Math.sqrt(sensorVariance(1e-4))).toBeGreaterThan(0.9)
    expect(found / Math.sqrt(sensorVariance(1e-4))).toBeLessThan(1.1)
    expect(
      noiseAtBlack(
        m.mosaic.map((v) => 256 * v),
        side,
        side,
      ) / found,
    ).toBeCloseTo(256, 3)
  })
})

/** Mean coherence of the structure tensor (Bigün, Granlund 1987) over 7 × 7 windows. */
function coherence(y: Float32Array, side: number): number {
  const R = 3
  let sum = 0
  let n = 0
  for (let v = 12; v < side - 12; v += 4)
    for (let u = 12; u < side - 12; u += 4, n++) {
      let [xx, yy, xy] = [0, 0, 0]
      for (let j = -R; j <= R; j++)
        for (let i = -R; i <= R; i++) {
          const at = (v + j) * side + u + i
          const dx = y[at + 1]! - y[at - 1]!
          const dy = y[at + side]! - y[at - side]!
          xx += dx * dx
          yy += dy * dy
          xy += dx * dy
        }
      sum += Math.hypot(xx - yy, 2 * xy) / (xx + yy)
    }
  return sum / n
}

describe('the crew', () => {
  it('gives the same bits as one call, at every phase, with strips of its own', async () => {
    const random = seededRandom(11)
    const [width, height] = [61, 300]
    const mosaic = Float32Array.from({ length: width * height }, () => random.uniform() ** 4)
    for (const phase of [0, 1, 2, 3]) {
      const a = await through({ width, height, phase, mosaic }, { noiseFloor: 1e-3 })
      const b = await through(
        { width, height: 140, phase, mosaic: mosaic.subarray(0, width * 140) },
        { noiseFloor: 1e-3 },
      )
      for (const c of [0, 1, 2] as const) expect(a[c].subarray(0, width * 130)).toEqual(b[c].subarray(0, width * 130))
    }
  })

  it('refuses by name a pattern that is not Bayer, a picture without rows to mirror, a row too wide', async () => {
    const picture = { mosaic: 1024, width: 8, height: 8, cfa: patterns[0]!, red: 1024, green: 1024, blue: 1024 }
    const code = (more: Partial<MosaicPicture>) =>
      demosaic(crew, { ...picture, ...more }).then(
        () => 'done',
        (e: Failure) => `${e.kind} ${e.code}`,
      )
    expect(await code({ cfa: [0, 1, 2, 1] })).toBe('unsupported cfa-pattern')
    expect(await code({ height: 1 })).toBe('unsupported mosaic-size')
    expect(await code({ width: 200_000 })).toBe('limit mosaic-width')
  })

  it('copes with a picture of nothing but zeros', async () => {
    const out = await through({ width: 16, height: 16, phase: 0, mosaic: new Float32Array(256) })
    for (const plane of out) expect(plane.every((v) => v === 0)).toBe(true)
  })
})
