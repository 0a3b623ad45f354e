import { mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { createCodec, createFiles, hashes } from '#apps/io'
import { seededRandom } from '#core/base'
import { encodeSrgb } from '#core/colour'
import { srgbProfile } from '#core/formats'
import { merge } from '#jobs'
import type { Host } from '#jobs/contract'
import { exifBlock, noFacts } from '#picture/export'
import { finishTasks } from '#picture/finish'
import { mergeTasks } from '#picture/merge'
import { rawTasks } from '#picture/raw'
import { testCrew } from './kernels.ts'

const host: Host = {
  files: createFiles(),
  codec: createCodec(),
  ...hashes,
  crew: async (bytes) => testCrew({ ...rawTasks, ...mergeTasks, ...finishTasks }, bytes),
  seconds: () => 0,
  progress() {},
  throwIfStopped() {},
  version: '0',
}

const width = 768
const height = 576
/** Exposures of the frames against the third, in stops. */
const stops = [-4, -2, 0, 2, 4, 6]
const REFERENCE = 2

/** A scene of soft-edged fields over 15 stops, a third of them neutral, the rest as warm as lamps; lamps within the darkest frame. */
function night(): { planes: Float32Array[]; neutral: Uint8Array } {
  const random = seededRandom(11)
  const planes = [0, 1, 2].map(() => new Float32Array(width * height))
  const neutral = new Uint8Array(width * height)
  const across = 16
  const down = 12
  const fields = Array.from({ length: across * down }, (_, i) => ({
    level: 2 ** (-11 + 14.5 * random.uniform()),
    colour: i % 3 === 0 ? [1, 1, 1] : [1, 0.3 + 0.5 * random.uniform(), 0.02 + 0.2 * random.uniform()],
  }))
  for (let y = 0; y < height; y++) {
    for (let x = 0; x < width; x++) {
      const [i, j] = [Math.floor((x * across) / width), Math.floor((y * down) / height)]
      const { level, colour } = fields[j * across + i]!
      // A slow texture of a third of a stop gives every field many codes.
      const texture = 2 ** (0.16 * Math.sin(x / 5.3) * Math.cos(y / 4.1))
      for (let c = 0; c < 3; c++) planes[c]![y * width + x] = level * texture * colour[c]!
      // Fields' middles only: JPEG smears edges, which is its own affair.
      const [u, v] = [(x * across) % width, (y * down) % height]
      const inner = u > width / 4 && u < (3 * width) / 4 && v > height / 4 && v < (3 * height) / 4
      neutral[y * width + x] = inner ? ((j * across + i) % 3 === 0 ? 2 : 1) : 0
    }
  }
  return { planes, neutral }
}

const steep = (e: number) => (1.5 * e ** 0.62) / (0.5 + e ** 0.62)
/** Name, response, code of saturation, and how far a third colour goes to white where two saturate. */
const cameras: readonly (readonly [string, (e: number) => number, number, number])[] = [
  ['the standard curve of sRGB', (e) => encodeSrgb(e), 255, 0],
  ['a steep curve with a toe and a long shoulder', steep, 255, 0],
  ['a steep curve that saturates at code 252 and whitens what saturates in two colours', steep, 252, 0.6],
]

describe.each(cameras)('a bracket of finished pictures of a known scene through %s', (name, curve, white, whitened) => {
  const response = (e: number) => (white / 255) * curve(e)
  let folder: string
  const scene = night()
  let planes: Float32Array[] = []
  beforeAll(async () => {
    folder = mkdtempSync(join(tmpdir(), 'duskwork-rendered-'))
    const random = seededRandom(3)
    const paths: string[] = []
    for (const [k, stop] of stops.entries()) {
      const data = new Uint8Array(width * height * 3)
      for (let i = 0; i < width * height; i++) {
        const codes = scene.planes.map((plane) => {
          const e = plane[i]! * 2 ** stop
          const noisy = Math.max(0, e + Math.sqrt(e / 6000 + 2.5e-7) * random.normal())
          return 255 * response(Math.min(1, noisy))
        })
        const drawn = codes.filter((v) => v >= white - 0.5).length >= 2 ? whitened : 0
        codes.forEach((v, c) => {
          data[i * 3 + c] = Math.round(v + drawn * (white - v))
        })
      }
      const facts = { ...noFacts, exposureSeconds: 2 ** (stop - 5), fNumber: 2.8, iso: 100 }
      const exif = exifBlock(facts, { width, height, software: 'test' }).bytes
      const path = join(folder, `${k}.jpg`)
      writeFileSync(
        path,
        await host.codec.encodeJpeg({ width, height, channels: 3, data }, 92, { exif, icc: srgbProfile() }),
      )
      paths.push(path)
    }
    const document = await merge(host, paths, {
      out: join(folder, 'out'),
      async withImage(image) {
        expect(image.used[image.reference]!.file).toBe(paths[REFERENCE])
        planes = image.planes.map((at) => image.crew.arena.f32(at, width * height).slice())
      },
    })
    expect(document.leftOut).toEqual([])
  })
  afterAll(() => rmSync(folder, { recursive: true, force: true }))

  it('has a slope of log radiance within 1 % of 1 over 12 stops, and departs from it by under 0.15 stop', () => {
    // Means over cells of 8 × 8 pixels; what the darkest frame clips or the brightest shows under code 8 has no truth to tell.
    const xs: number[] = []
    const ys: number[] = []
    for (let y = 0; y + 8 <= height; y += 8) {
      for (let x = 0; x + 8 <= width; x += 8) {
        let inner = true
        const sums = [0, 0]
        for (let v = y; v < y + 8; v++)
          for (let u = x; u < x + 8; u++) {
            if (scene.neutral[v * width + u] === 0) inner = false
            sums[0]! += scene.planes[1]![v * width + u]! / 64
            sums[1]! += planes[1]![v * width + u]! / 64
          }
        const [truth, found] = sums as [number, number]
        if (!inner || truth * 2 ** stops[0]! > 0.8 || 255 * response(truth * 2 ** stops.at(-1)!) < 8) continue
        xs.push(Math.log2(truth))
        ys.push(Math.log2(Math.max(found, 1e-9)))
      }
    }
    const mean = (v: readonly number[]) => v.reduce((s, t) => s + t, 0) / v.length
    const [mx, my] = [mean(xs), mean(ys)]
    const slope =
      xs.reduce((s, t, i) => s + (t - mx) * (ys[i]! - my), 0) / xs.reduce((s, t) => s + (t - mx) * (t - mx), 0)
    let worst = 0
    let at = 0
    xs.forEach((t, i) => {
      const error = Math.abs(ys[i]! - my - (t - mx))
      if (error > worst) [worst, at] = [error, t]
    })
    const range = Math.max(...xs) - Math.min(...xs)
    console.log(
      `${name}: slope ${slope.toFixed(4)} over ${range.toFixed(1)} stops, ${xs.length} cells; worst ${worst.toFixed(3)} stop ` +
        `at 2^${at.toFixed(1)}`,
    )
    expect(range).toBeGreaterThan(12)
    expect(Math.abs(slope - 1)).toBeLessThan(0.01)
    expect(worst).toBeLessThan(0.15)
  })

  it('keeps neutral fields neutral at every level, to 2 % of red and blue against green', () => {
    let worst = 0
    for (let y = 0; y + 48 <= height; y += 48) {
      for (let x = 0; x + 48 <= width; x += 48) {
        const sums = [0, 0, 0]
        let n = 0
        for (let v = y; v < y + 48; v++)
          for (let u = x; u < x + 48; u++) {
            if (scene.neutral[v * width + u] !== 2) continue
            for (let c = 0; c < 3; c++) sums[c]! += planes[c]![v * width + u]!
            n++
          }
        const truth = scene.planes[1]![(y + 24) * width + x + 24]!
        if (n < 100 || truth * 2 ** stops[0]! > 0.8 || 255 * response(truth * 2 ** stops.at(-1)!) < 8) continue
        worst = Math.max(worst, Math.abs(sums[0]! / sums[1]! - 1), Math.abs(sums[2]! / sums[1]! - 1))
      }
    }
    console.log(`${name}: neutral fields off by ${(100 * worst).toFixed(2)} % at most`)
    expect(worst).toBeGreaterThan(0)
    expect(worst).toBeLessThan(0.02)
  })

  it('keeps the colours of bright fields that long exposures clip: blue against green within 10 % of the truth', () => {
    let worst = 0
    let fields = 0
    for (let y = 0; y + 48 <= height; y += 48) {
      for (let x = 0; x + 48 <= width; x += 48) {
        const [found, truth] = [
          [0, 0, 0],
          [0, 0, 0],
        ]
        for (let v = y; v < y + 48; v++)
          for (let u = x; u < x + 48; u++) {
            if (scene.neutral[v * width + u] !== 1) continue
            for (let c = 0; c < 3; c++) {
              found[c]! += planes[c]![v * width + u]!
              truth[c]! += scene.planes[c]![v * width + u]!
            }
          }
        const level = scene.planes[0]![(y + 24) * width + x + 24]!
        if (truth[1] === 0 || level * 2 ** stops[0]! > 0.7 || level < 0.1) continue
        fields++
        worst = Math.max(worst, Math.abs(found[2]! / found[1]! / (truth[2]! / truth[1]!) - 1))
      }
    }
    console.log(`${name}: blue against green off by ${(100 * worst).toFixed(1)} % at most in ${fields} bright fields`)
    expect(fields).toBeGreaterThan(10)
    expect(worst).toBeLessThan(0.1)
  })
})
