import { existsSync, mkdtempSync, readFileSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { createCodec, createFiles, hashes } from '#apps/io'
import { median } from '#core/base'
import { merge } from '#jobs'
import type { Host, MergedBracket } from '#jobs/contract'
import { finishTasks } from '#picture/finish'
import { mergeTasks } from '#picture/merge'
import { rawTasks } from '#picture/raw'
import { shadingTasks } from '#picture/shading'
import { samples, testCrew } from './kernels.ts'

/** What LibRaw 0.20.2 makes of the same files; see truth/libraw/README.md. */
const developed: Record<
  string,
  {
    width: number
    height: number
    medians: number[]
    mediansWithGainMaps?: number[]
    greenMeans: number[][]
  }
> = JSON.parse(readFileSync(new URL('../truth/libraw/medians.json', import.meta.url), 'utf8'))

const host: Host = {
  files: createFiles(),
  codec: createCodec(),
  ...hashes,
  crew: async (bytes) => testCrew({ ...rawTasks, ...mergeTasks, ...shadingTasks, ...finishTasks }, bytes),
  seconds: () => 0,
  progress() {},
  throwIfStopped() {},
  version: '0',
}

let folder: string
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'duskwork-real-'))
})
afterEach(() => rmSync(folder, { recursive: true, force: true }))

interface Seen {
  readonly width: number
  readonly height: number
  readonly planes: readonly Float32Array[]
  readonly bracket: MergedBracket
}

/** Merges and hands out copies of the planes, red, green, blue. */
async function merged(paths: readonly string[]): Promise<Seen> {
  const seen: Seen[] = []
  const document = await merge(host, paths, {
    out: folder,
    async withImage({ crew, planes, width, height }, bracket) {
      seen.push({ width, height, bracket, planes: planes.map((at) => crew.arena.f32(at, width * height).slice()) })
    },
  })
  expect(document.leftOut).toEqual([])
  return seen[0]!
}

/** Medians of red, green and blue over every fifth pixel of the picture. */
const mediansOf = ({ planes }: Seen) => planes.map((p) => median(p.filter((_, i) => i % 5 === 0)))

/** Log2 of the means of green in 6 rows of 8 cells. */
function greenCells({ planes, width, height }: Seen): number[] {
  const green = planes[1]!
  return Array.from({ length: 48 }, (_, cell) => {
    const [i, j] = [cell % 8, Math.floor(cell / 8)]
    let sum = 0
    let n = 0
    for (let y = Math.floor((j * height) / 6); y < Math.floor(((j + 1) * height) / 6); y += 2) {
      for (let x = Math.floor((i * width) / 8); x < Math.floor(((i + 1) * width) / 8); x += 2, n++) {
        // LibRaw clips at saturation.
        sum += Math.min(1, Math.max(0, green[y * width + x]!))
      }
    }
    return Math.log2(sum / n)
  })
}

function correlation(a: readonly number[], b: readonly number[]): number {
  const mean = (v: readonly number[]) => v.reduce((s, x) => s + x, 0) / v.length
  const [ma, mb] = [mean(a), mean(b)]
  const dot = (p: readonly number[], mp: number, q: readonly number[], mq: number) =>
    p.reduce((s, x, i) => s + (x - mp) * (q[i]! - mq), 0)
  return dot(a, ma, b, mb) / Math.sqrt(dot(a, ma, a, ma) * dot(b, mb, b, mb))
}

const percent = (v: number) => `${(100 * v).toFixed(2)} %`

describe.skipIf(!existsSync(join(samples, 'dng')))('real raw frames (sample files absent when skipped)', () => {
  it.each(Object.keys(developed))(
    '%s: size and way up are LibRaw’s; red and blue medians against green within five percent',
    async (name) => {
      const truth = developed[name]!
      const seen = await merged([join(samples, 'dng', `${name}.dng`)])
      expect([seen.width, seen.height]).toEqual([truth.width, truth.height])
      const way = correlation(
        greenCells(seen),
        truth.greenMeans.flat().map((v) => Math.log2(v / 65535)),
      )
      const [r, g, b] = mediansOf(seen) as [number, number, number]
      const [tr, tg, tb] = truth.medians as [number, number, number]
      const [red, blue] = [r / g / (tr / tg) - 1, b / g / (tb / tg) - 1]
      console.log(`${name}: red ${percent(red)}, blue ${percent(blue)} against green; correlation ${way.toFixed(4)}`)
      expect(way).toBeGreaterThan(0.95)
      expect(Math.max(Math.abs(red), Math.abs(blue))).toBeLessThan(0.05)
      if (!truth.mediansWithGainMaps) return
      const each = [r, g, b].map((v, c) => v / (truth.mediansWithGainMaps![c]! / 65535) - 1)
      console.log(`with gain maps in both, unscaled: ${each.map(percent).join(', ')}`)
      for (const error of each) expect(Math.abs(error)).toBeLessThan(0.05)
    },
  )

  it('a cinema frame without exposure tags merges to its default crop, the blue of a screen in it brighter than red', async () => {
    const seen = await merged([join(samples, 'dng/cfa_ljpeg_1comp_pred6_1952x1112.dng')])
    expect([seen.width, seen.height]).toEqual([1920, 1080])
    const [r, , b] = mediansOf(seen) as [number, number, number]
    expect(b).toBeGreaterThan(3 * Math.abs(r))
  })
})

/**
 * Motion of each frame's content against 08, pixels and degrees, measured by other means: an independent script's median over
 * tiles of 252 pixels that both frames expose well, each by Gauss–Newton on the logarithm of green under the standard
 * curve, turn fitted by robust least squares. It leaves 0.15 to 0.3 px between tiles; two darkest frames have too
 * few such tiles (4 and 2) and are left out.
 */
const garden: Record<string, readonly [x: number, y: number, degrees: number]> = {
  '04.jpg': [0.155, 0.471, 0.0013],
  '05.jpg': [0.223, 1.228, -0.028],
  '06.jpg': [-0.044, 0.22, 0.0083],
  '07.jpg': [-0.168, 0.551, -0.0172],
  '09.jpg': [0.197, 0.63, -0.0118],
}
const gardenFolder = join(samples, 'bracket-night-garden')

describe.skipIf(!existsSync(gardenFolder))('a real night bracket of camera JPEGs (sample files absent)', () => {
  it('is merged upright from all eight frames, each found to a third of a pixel and under 0.05°', async () => {
    const { width, height, bracket, planes } = await merged([gardenFolder])
    expect([width, height]).toEqual([4032, 3024])
    expect(bracket.frames).toHaveLength(8)
    let [furthest, worst, turned, left] = [0, 0, 0, 0]
    for (const frame of bracket.frames) {
      expect(frame.reason).toBeNull()
      const { shift, rotationDegrees, residualPixels } = frame
      furthest = Math.max(furthest, Math.hypot(shift!.x, shift!.y))
      turned = Math.max(turned, Math.abs(rotationDegrees!))
      left = Math.max(left, residualPixels!)
      const truth = garden[frame.file.split('/').at(-1)!]
      if (truth) worst = Math.max(worst, Math.hypot(shift!.x - truth[0], shift!.y - truth[1]))
    }
    console.log(
      `night bracket: moved up to ${furthest.toFixed(2)} px and ${turned.toFixed(3)}°, ${worst.toFixed(2)} px from the ` +
        `independent measurement at most, ${left.toFixed(2)} px left at most`,
    )
    expect(furthest).toBeLessThan(2)
    expect(turned).toBeLessThan(0.05)
    expect(worst).toBeLessThan(0.33)
    expect(left).toBeLessThan(0.5)
    // Upright the lit house is above the lawn.
    const mean = (y0: number, y1: number) => {
      const part = planes[1]!.subarray(y0 * width, y1 * width)
      return part.reduce((s, v) => s + v, 0) / part.length
    }
    expect(mean(600, 1400)).toBeGreaterThan(3 * mean(2300, 3000))
  })
})
