import { existsSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { Failure } from '#core/base'
import { inspectSchema } from '#jobs/schemas'
import { samples } from '../../test/kernels.ts'
import { readingHost } from '../../test/reading-host.ts'
import { byte, double, long, rational, short, smallDng, srational } from '../../test/tiff-bytes.ts'
import { inspect } from './inspect.ts'

const good = smallDng({
  thumbnail: true,
  littleEndian: false,
  raw: {
    50713: short(2, 2),
    50714: short(64, 65, 66, 67),
    50717: short(4095),
    50829: long(1, 2, 6, 7),
    50720: long(4, 4),
    51041: double(1e-4, 1e-8),
  },
  top: {
    274: short(6),
    50728: rational(1, 2, 1, 1, 1, 2),
    50730: srational(1, 2),
    700: byte(...Buffer.from('<x FlightYawDegree="+12.5"/>')),
  },
  exif: { 33434: rational(1, 2), 33437: rational(2, 1), 34855: short(100), 37386: rational(672, 100) },
})

describe('inspect', () => {
  it('says what is in a raw file, by the names of the contract', async () => {
    const { host } = readingHost({ 'a.dng': good })
    const document = await inspect(host, ['a.dng'])
    expect(inspectSchema.strict().parse(document)).toEqual(document)
    expect(document).toMatchObject({
      schema: 'inspect/1',
      leftOut: [],
      files: [
        {
          ...{
            file: 'a.dng',
            kind: 'dng',
            readable: true,
            refusal: null,
            width: 8,
            height: 6,
            samples: 'cfa',
            cfa: 'RGGB',
          },
          ...{ bitsPerSample: 16, compression: 'none', black: [64, 65, 66, 67], white: [4095] },
          ...{ activeArea: [1, 2, 6, 7], crop: [0, 0, 4, 4], orientation: 6 },
          ...{ exposureSeconds: 0.5, fNumber: 2, iso: 100, ev100: 3, focalLengthMillimetres: 6.72 },
          ...{
            noise: [{ scale: 1e-4, offset: 1e-8 }],
            neutral: [0.5, 1, 0.5],
            baselineExposureStops: 0.5,
            position: null,
          },
          attitude: { flightYaw: 12.5, gimbalPitch: null },
          takenAt: { utc: null, camera: null, offsetMinutes: null, subSecond: 0 },
        },
      ],
    })
  })

  it('digests the samples as 16-bit little-endian, also those of a big-endian file', async () => {
    const { host } = readingHost({ 'a.dng': good })
    const pixels = new Uint8Array(Uint16Array.from({ length: 48 }, (_, i) => 1000 + i).buffer)
    expect((await inspect(host, ['a.dng'])).files[0]!.pixelsMd5).toBe(host.md5(pixels))
  })

  it('goes on past files that cannot be used, each with its reason and one sentence', async () => {
    const { host, progress } = readingHost({
      'empty.dng': new Uint8Array(0),
      'notes.txt': new Uint8Array(Buffer.from('hello, this is no picture')),
      'cut.dng': good.subarray(0, good.length - 20),
      'float.dng': smallDng({ raw: { 339: short(3) } }),
      'plain.tif': smallDng({ top: { 50706: null } }),
      'good.dng': good,
    })
    const names = ['empty.dng', 'notes.txt', 'cut.dng', 'absent.dng', 'float.dng', 'plain.tif', 'good.dng']
    const document = await inspect(host, names)
    expect(inspectSchema.parse(document)).toEqual(document)
    expect(document.files.map((f) => [f.file, f.kind, f.readable, f.refusal?.kind, f.refusal?.code])).toEqual([
      ['empty.dng', 'unknown', false, 'malformed', 'empty-file'],
      ['notes.txt', 'unknown', false, 'malformed', 'not-a-picture'],
      ['cut.dng', 'dng', false, 'malformed', 'file-cut-short'],
      ['absent.dng', 'unknown', false, 'io', 'not-found'],
      ['float.dng', 'dng', false, 'unsupported', 'float-samples'],
      ['plain.tif', 'tiff', false, 'unsupported', 'not-dng'],
      ['good.dng', 'dng', true, undefined, undefined],
    ])
    for (const f of document.files.slice(0, -1)) {
      expect(f.refusal!.sentence.startsWith(`${f.file}: `)).toBe(true)
      expect(f).toMatchObject({ width: null, exposureSeconds: null, pixelsMd5: null, opcodes: [] })
    }
    expect(document.leftOut.map((l) => [l.what, l.reason])).toEqual(
      document.files.slice(0, -1).map((f) => [f.file, f.refusal!.code]),
    )
    expect(progress.at(-1)).toEqual({ stage: 'Inspecting files', done: 7, total: 7 })
  })

  it('refuses a file whose header is sound but whose data are not', async () => {
    const broken = smallDng({ raw: { 259: short(8), 278: null }, segments: [new Uint8Array(40).fill(7)] })
    const [file] = (await inspect(readingHost({ 'a.dng': broken }).host, ['a.dng'])).files
    expect(file).toMatchObject({
      kind: 'dng',
      readable: false,
      refusal: { kind: 'malformed', code: 'deflate-damaged' },
    })
  })

  it('tells with the file what of it was not used', async () => {
    const { host } = readingHost({ 'a.dng': smallDng({ raw: { 274: short(99) } }) })
    expect((await inspect(host, ['a.dng'])).leftOut).toMatchObject([
      { what: 'orientation', reason: 'orientation-unknown', facts: { file: 'a.dng', found: 99 } },
    ])
  })

  it('lays out one memory for many files of a size', async () => {
    const { host, crews } = readingHost({ a: good, b: good, c: good })
    await inspect(host, ['a', 'b', 'c'])
    expect(crews).toHaveLength(1)
  })

  it('stops when the user stops', async () => {
    const { host } = readingHost({ a: good })
    const stopped = {
      ...host,
      throwIfStopped: () => {
        throw new Failure('aborted', 'stopped')
      },
    }
    await expect(inspect(stopped, ['a'])).rejects.toMatchObject({ kind: 'aborted' })
  })
})

/** Digests as an independent decoding library gives them; the sample set's README. */
describe.skipIf(!existsSync(samples))('inspect of real files (sample files absent when skipped)', () => {
  it.each([
    ['cfa_ljpeg_1comp_pred6_1952x1112.dng', '731e0c09ff2b822308b7c81f948321e9', 'GBRG'],
    ['cfa_gainmap4_iso100_4000x3000_ljpeg.dng', '6c4b766a6ab88545261ea6880742dddb', 'RGGB'],
    ['cfa_warprect_fisheye_3104x3000_ljpeg.dng', 'e16157c0d87d99b425b9cc41a46d8dfa', 'RGGB'],
    ['cfa_packed14_1888x1182.dng', 'cac34392a200481dd3c3ce43315efb5d', 'RGGB'],
  ])('%s has the pixels of an independent decoder', async (name, pixelsMd5, cfa) => {
    const document = await inspect(readingHost().host, [join(samples, 'dng', name)])
    expect(document).toMatchObject({ leftOut: [], files: [{ readable: true, pixelsMd5, cfa }] })
    expect(inspectSchema.parse(document)).toEqual(document)
  })

  it('a drone still and a refused linear picture stand side by side', async () => {
    const still = join(samples, 'drone-stills', 'nadir_0024.jpg')
    const linear = join(samples, 'dng', 'linear_lossyjpeg_mappoly_600x338.dng')
    const { files } = await inspect(readingHost().host, [linear, still])
    expect(files[0]).toMatchObject({ readable: false, refusal: { kind: 'unsupported', code: 'compression' } })
    expect(files[0]!.refusal!.sentence).toContain('lossy JPEG')
    expect(files[1]).toMatchObject({
      kind: 'jpeg',
      readable: true,
      samples: 'rendered',
      cfa: null,
      compression: 'jpeg',
      width: 4000,
      height: 2250,
      attitude: { relativeHeightMetres: 39.9 },
      pixelsMd5: null,
    })
  })
})
