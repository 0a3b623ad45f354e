import { existsSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { inspectSchema } from '#jobs/schemas'
import { samples } from '../kernels.ts'
import { duskwork } from '../program.ts'

/**
 * MD5 of all samples of real raw files as 16-bit little-endian words, after the linearisation table and before black, as an
 * independent decoding library gives them (the sample folder's README).
 */
const published: Readonly<Record<string, string>> = {
  'cfa_ljpeg_1comp_pred6_1952x1112.dng': '731e0c09ff2b822308b7c81f948321e9',
  'cfa_gainmap4_iso100_4000x3000_ljpeg.dng': '6c4b766a6ab88545261ea6880742dddb',
  'cfa_warprect_fisheye_3104x3000_ljpeg.dng': 'e16157c0d87d99b425b9cc41a46d8dfa',
  'cfa_packed14_1888x1182.dng': 'cac34392a200481dd3c3ce43315efb5d',
}
const paths = Object.keys(published).map((name) => join(samples, 'dng', name))

describe.skipIf(!paths.every((p) => existsSync(p)))('inspect, as a user runs it (sample files absent)', () => {
  it.each(['simd', 'plain'])('gives the published digests of four real raw files (%s kernels)', async (kernels) => {
    const { code, out, err } = await duskwork(['inspect', ...paths, '--json', '--kernels', kernels])
    expect(code, err).toBe(0)
    const { files } = inspectSchema.parse(JSON.parse(out))
    expect(files.map((f) => f.pixelsMd5)).toEqual(Object.values(published))
  })
})
