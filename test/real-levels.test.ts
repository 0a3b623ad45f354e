import { existsSync, readFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { SCRATCH_BYTES } from '#core/kernels'
import { noisePlanes } from '#core/sensor'
import { type FrameLevels, LEVEL_RESULT_BYTES, lightGrid, measureTasks, readLevels } from '#picture/measure'
import { mergeTasks, takeInMosaics } from '#picture/merge'
import { decodeRawBytes, describeRaw, rawTasks } from '#picture/raw'
import { samples, testCrew } from './kernels.ts'

const fileOf = (name: string) => join(samples, 'dng', name)

/** Levels of a real raw file, and its clipped shares counted one sample at a time. */
async function levelsOf(path: string) {
  const bytes = readFileSync(path)
  const raw = describeRaw(bytes)
  const { width, height } = raw.activeArea
  const crew = testCrew(
    { ...rawTasks, ...mergeTasks, ...measureTasks },
    2 * raw.width * raw.height + bytes.length + (8 << 20),
  )
  const at = crew.arena.alloc(2 * raw.width * raw.height)
  await decodeRawBytes(crew, raw, bytes, at)
  const [taken] = await takeInMosaics(crew, [{ raw, at }])
  const profile = noisePlanes(raw.noise, 3)
  const frame = {
    ...{ at, width, height, cfa: raw.cfa!, black: taken!.black, range: taken!.range[0], white: raw.white[0]! },
    profile: profile ? [profile[0]!, profile[1]!, profile[2]!] : null,
  }
  const light = crew.arena.alloc(4 * lightGrid(width, height).cells)
  const result = crew.arena.alloc(LEVEL_RESULT_BYTES)
  const { orientation, attitude } = raw
  const request = { frame, light, result, orientation, gimbalRoll: attitude?.gimbalRoll ?? null }
  await crew.run('measure.levels', { frames: [request] }, 1)
  const over = [0, 0, 0]
  const all = [0, 0, 0]
  const mosaic = crew.arena.u16(at, width * height)
  const bar = Math.round(frame.white - 0.0025 * frame.range)
  for (let i = 0; i < mosaic.length; i++) {
    const colour = frame.cfa[(((i / width) & 1) << 1) | ((i % width) & 1)]!
    all[colour]! += 1
    if (mosaic[i]! >= bar) over[colour]! += 1
  }
  expect(SCRATCH_BYTES).toBeGreaterThan(width * height * 0.25)
  return { levels: readLevels(crew.arena, result), clipped: over.map((n, c) => n / all[c]!) }
}

const told = ({ levels }: { levels: FrameLevels }) =>
  console.log(
    JSON.stringify({
      clipped: levels.clipped,
      clipsEarly: levels.clipsEarly,
      buried: levels.buried[0],
      wells: levels.noise!.measured.map((m) => m && Math.round(m.fullWellElectrons)),
      read: levels.noise!.measured.map((m) => m?.readElectrons?.toFixed(2) ?? null),
      profile: levels.noise!.profile,
      black: levels.blackAtMostCodes,
      banding: levels.banding,
      tilt: levels.tilt,
    }),
  )

describe.skipIf(!existsSync(fileOf('cfa_gainmap4_iso100_4000x3000_ljpeg.dng')))(
  'real raw files (sample files absent)',
  () => {
    it('a 12 MP frame whose blue is written at half gain is flagged against the one noise line in its file', async () => {
      const found = await levelsOf(fileOf('cfa_gainmap4_iso100_4000x3000_ljpeg.dng'))
      told(found)
      const { profile } = found.levels.noise!
      expect(profile!.agrees).toBe(false)
      // Blue's variance over its mean is 6e-5 where the file's line says 1.56e-4: √ of that, with read noise, is 0.6 to 0.8.
      expect(profile!.ratio[2]!).toBeLessThan(0.8)
      expect(profile!.ratio[1]!).toBeGreaterThan(0.8)
      expect(profile!.ratio[1]!).toBeLessThan(1.2)
    })

    it.each([
      'cfa_packed14_1888x1182.dng',
      'cfa_ljpeg_1comp_pred6_1952x1112.dng',
      'cfa_warprect_fisheye_3104x3000_ljpeg.dng',
    ])('%s: clipped shares are those counted one sample at a time', async (name) => {
      const found = await levelsOf(fileOf(name))
      told(found)
      const { r, g, b } = found.levels.clipped
      if (!found.levels.clipsEarly) expect([r, g, b]).toEqual(found.clipped)
      else for (const [c, share] of [r, g, b].entries()) expect(share).toBeGreaterThanOrEqual(found.clipped[c]!)
      const { stops } = found.levels
      expect(stops.g.reduce((s, v) => s + v, 0) + g).toBeGreaterThan(0.97)
    })
  },
)
