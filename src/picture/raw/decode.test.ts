import { createHash } from 'node:crypto'
import { existsSync, readFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { samples, testCrew } from '../../../test/kernels.ts'
import { decodeRawBytes, rawTasks } from './decode.ts'
import { describeRaw } from './describe-raw.ts'

/** MD5 of the 16-bit little-endian samples as an independent decoding library gives them; data set's README. */
const PIXELS = [
  ['cfa_ljpeg_1comp_pred6_1952x1112.dng', '731e0c09ff2b822308b7c81f948321e9'],
  ['cfa_gainmap4_iso100_4000x3000_ljpeg.dng', '6c4b766a6ab88545261ea6880742dddb'],
  ['cfa_warprect_fisheye_3104x3000_ljpeg.dng', 'e16157c0d87d99b425b9cc41a46d8dfa'],
  ['cfa_packed14_1888x1182.dng', 'cac34392a200481dd3c3ce43315efb5d'],
] as const

const folder = join(samples, 'dng')

describe.skipIf(!existsSync(folder))('samples of real raw files (sample files absent when skipped)', () => {
  for (const kind of ['simd', 'plain'] as const)
    it.each(PIXELS)(`are those of an independent decoder with ${kind} kernels: %s`, async (name, md5) => {
      const bytes = new Uint8Array(readFileSync(join(folder, name)))
      const raw = describeRaw(bytes)
      const crew = testCrew(rawTasks, 2 * raw.width * raw.height + bytes.length + (1 << 20), kind)
      const destination = crew.arena.alloc(2 * raw.width * raw.height)
      await decodeRawBytes(crew, raw, bytes, destination)
      const pixels = crew.arena.u8(destination, 2 * raw.width * raw.height)
      expect(createHash('md5').update(pixels).digest('hex')).toBe(md5)
    })
})
