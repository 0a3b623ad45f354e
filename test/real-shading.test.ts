import { existsSync, readFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import type { Address, Crew } from '#core/kernels'
import { electronsOf, estimateNoise } from '#core/sensor'
import { decodeRawBytes, describeRaw, type RawFile, rawTasks } from '#picture/raw'
import { applyGainMaps, correctLens, shadingTasks } from '#picture/shading'
import { samples, testCrew } from './kernels.ts'

const gainMapFile = join(samples, 'dng/cfa_gainmap4_iso100_4000x3000_ljpeg.dng')
const warpFile = join(samples, 'dng/cfa_warprect_fisheye_3104x3000_ljpeg.dng')

async function decoded(crew: Crew, path: string): Promise<{ raw: RawFile; at: Address }> {
  const bytes = readFileSync(path)
  const raw = describeRaw(bytes)
  const at = crew.arena.alloc(2 * raw.width * raw.height)
  await decodeRawBytes(crew, raw, bytes, at)
  return { raw, at }
}

/** Black of the active area's four phases. */
const phases = ({ black: { repeatRows, repeatColumns, values } }: RawFile) =>
  [0, 1, 2, 3].map((p) => values[((p >> 1) % repeatRows) * repeatColumns + ((p & 1) % repeatColumns)]!) as [
    number,
    number,
    number,
    number,
  ]

describe.skipIf(!existsSync(gainMapFile))('a real 12 MP frame with gain maps (sample files absent)', () => {
  it('has noise in the picture whose green agrees with the profile in its file to 35 %', async () => {
    const crew = testCrew({ ...rawTasks, ...shadingTasks }, 160 << 20)
    const { raw, at } = await decoded(crew, gainMapFile)
    const mosaic = {
      samples: crew.arena.u16(at, raw.width * raw.height).slice(),
      ...{ width: raw.width, height: raw.height, region: raw.activeArea, black: phases(raw), white: raw.white[0]! },
    }
    const start = performance.now()
    const found = estimateNoise(mosaic, raw.maskedAreas)!
    const milliseconds = performance.now() - start
    for (const [p, term] of found.phases.entries()) {
      const { fullWellElectrons, readNoiseElectrons } = electronsOf(term)
      console.log(
        `${'RGB'[raw.cfa![p]!]}: full well ${fullWellElectrons.toFixed(0)} e⁻, read ${readNoiseElectrons.toFixed(2)} e⁻`,
      )
    }
    const filed = electronsOf(raw.noise![0]!)
    console.log(
      `file: full well ${filed.fullWellElectrons.toFixed(0)} e⁻, read ${filed.readNoiseElectrons.toFixed(2)} e⁻`,
    )
    console.log(`${found.offsetFrom}, ${found.blocksUsed} of ${found.blocksSeen} blocks, ${milliseconds.toFixed(0)} ms`)
    // Its blue is written at half the gain of the rest (variance over mean 6e-5 against 1.4e-4), which one term cannot say.
    const green = electronsOf(found.phases[raw.cfa!.indexOf(1)]!)
    expect(Math.abs(green.fullWellElectrons / filed.fullWellElectrons - 1)).toBeLessThan(0.35)
  })

  it('brightens even light by 1.0 in the middle to 2.08 in the corners', async () => {
    const crew = testCrew(shadingTasks, 120 << 20)
    const raw = describeRaw(readFileSync(gainMapFile))
    const { width, height } = raw.activeArea
    const mosaic = crew.arena.alloc(4 * width * height)
    const variance = crew.arena.alloc(4 * width * height)
    crew.arena.f32(mosaic, width * height).fill(1)
    crew.arena.f32(variance, width * height).fill(1)
    const start = performance.now()
    expect(await applyGainMaps(crew, { mosaic, variance, width, height, opcodes: raw.opcodes })).toEqual([])
    const milliseconds = performance.now() - start
    const gains = crew.arena.f32(mosaic, width * height)
    const [low, high] = gains.reduce(([l, h], g) => [Math.min(l!, g), Math.max(h!, g)], [Infinity, 0])
    console.log(
      `gains ${low!.toFixed(3)} to ${high!.toFixed(3)}, four maps with variance over 12 MP in ${milliseconds.toFixed(0)} ms`,
    )
    expect(low).toBeCloseTo(1, 2)
    expect(high).toBeCloseTo(2.08, 2)
    const middle = gains[(height >> 1) * width + (width >> 1)]!
    expect(middle).toBeLessThan(1.1)
    expect(gains[0]).toBeGreaterThan(1.5)
  })
})

describe.skipIf(!existsSync(warpFile))('a real frame with lateral colour (sample files absent)', () => {
  it('has red and blue better in register with green after its own warp', async () => {
    const crew = testCrew({ ...rawTasks, ...shadingTasks }, 200 << 20)
    const { raw, at } = await decoded(crew, warpFile)
    const { x: left, y: top } = raw.activeArea
    const width = raw.activeArea.width >> 1
    const height = raw.activeArea.height >> 1
    const codes = crew.arena.u16(at, raw.width * raw.height)
    const black = phases(raw)
    // Half-size planes: each colour's mean over a square of the filter pattern. Warps are relative to the picture's size.
    const planes = [0, 1, 2].map((colour) => {
      const plane = crew.arena.alloc(4 * width * height)
      const to = crew.arena.f32(plane, width * height)
      const sites = [0, 1, 2, 3].filter((p) => raw.cfa![p] === colour)
      for (let y = 0; y < height; y++)
        for (let x = 0; x < width; x++) {
          let sum = 0
          for (const p of sites)
            sum += codes[(top + 2 * y + (p >> 1)) * raw.width + left + 2 * x + (p & 1)]! - black[p]!
          to[y * width + x] = sum / sites.length
        }
      return plane
    })
    const spare = crew.arena.alloc(4 * width * height)
    const spread = (of: readonly Address[], p: number) => {
      const from = (fraction: number) => shiftAlongRows(crew, of[p]!, of[1]!, width, height, fraction)
      return from(0.75) - from(0.25)
    }
    const before = [0, 2].map((p) => spread(planes, p))
    const start = performance.now()
    const done = await correctLens(crew, { planes, variances: [], spare, width, height, opcodes: raw.opcodes })
    const milliseconds = performance.now() - start
    const after = [0, 2].map((p) => spread(done.planes, p))
    console.log(
      `red and blue against green, right minus left: ${before.map((v) => v.toFixed(3))} px before, ` +
        `${after.map((v) => v.toFixed(3))} px after (half-size pixels; ${milliseconds.toFixed(0)} ms)`,
    )
    for (const i of [0, 1]) expect(Math.abs(after[i]!)).toBeLessThan(0.7 * Math.abs(before[i]!))
  })
})

/** Shift of `a` against `b` along rows, least squares on gradients, in a band of columns about `fraction` of the width. */
function shiftAlongRows(crew: Crew, a: Address, b: Address, width: number, height: number, fraction: number): number {
  const pa = crew.arena.f32(a, width * height)
  const pb = crew.arena.f32(b, width * height)
  const [from, to] = [Math.round(width * (fraction - 0.1)), Math.round(width * (fraction + 0.1))]
  let sxx = 0
  let sxy = 0
  for (let y = Math.round(0.35 * height); y < 0.65 * height; y++)
    for (let x = from; x < to; x++) {
      const i = y * width + x
      const gb = (pb[i + 1]! - pb[i - 1]!) / 2
      // Equal local brightness: the colours of the scene must not count as shift.
      const local = (p: Float32Array) => p[i - 3]! + p[i - 2]! + p[i - 1]! + p[i]! + p[i + 1]! + p[i + 2]! + p[i + 3]!
      const scale = local(pb) / Math.max(local(pa), 1)
      if (!(scale > 0.2 && scale < 5)) continue
      sxx += gb * gb
      sxy += gb * (pb[i]! - scale * pa[i]!)
    }
  return sxy / sxx
}
