import { existsSync, readFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { samples } from '../../../test/kernels.ts'
import {
  ascii,
  byte,
  double,
  failureOf,
  long,
  rational,
  short,
  smallDng,
  srational,
  undefinedBytes,
} from '../../../test/tiff-bytes.ts'
import { describeRaw } from './describe-raw.ts'

describe('a raw file', () => {
  it.each([true, false])(
    'is understood in IFD0 alone, with every default of the standard (little-endian %s)',
    (littleEndian) => {
      const raw = describeRaw(smallDng({ littleEndian }))
      expect(raw).toMatchObject({
        littleEndian,
        width: 8,
        height: 6,
        samples: 'cfa',
        cfa: [0, 1, 1, 2],
        bitsPerSample: 16,
        packing: 'none',
        black: { repeatRows: 1, repeatColumns: 1, values: [0], deltaColumns: null, deltaRows: null },
        white: [65535],
        activeArea: { x: 0, y: 0, width: 8, height: 6 },
        crop: { x: 0, y: 0, width: 8, height: 6 },
        orientation: 1,
        baselineExposureStops: 0,
        noise: null,
        opcodes: [],
        leftOut: [],
      })
      expect(raw.segments).toMatchObject([{ x: 0, y: 0, width: 8, height: 6, byteCount: 96 }])
    },
  )

  it('is found in a SubIFD under a thumbnail; orientation and colour come from the top', () => {
    const matrix = srational(9, 10, 0, 1, 0, 1, 0, 1, 1, 1, 0, 1, 0, 1, 0, 1, 7, 10)
    const raw = describeRaw(
      smallDng({ thumbnail: true, top: { 274: short(8), 50721: matrix, 50730: srational(35, 100) } }),
    )
    expect(raw).toMatchObject({ width: 8, orientation: 8, baselineExposureStops: 0.35 })
    expect(raw.colour.colorMatrix1).toEqual([0.9, 0, 0, 0, 1, 0, 0, 0, 0.7])
  })

  it('carries the Exif facts, and heights and angles from XMP', () => {
    const xmp = '<x><d RelativeAltitude="+40.10" v:GimbalPitchDegree="-90" v:FlightXSpeed="1.5"/></x>'
    const raw = describeRaw(
      smallDng({
        exif: { 33434: rational(1, 2), 33437: rational(17, 10), 34855: short(100) },
        top: { 700: byte(...Buffer.from(xmp)), 271: ascii('Maker') },
      }),
    )
    expect(raw).toMatchObject({
      exposureSeconds: 0.5,
      make: 'Maker',
      attitude: { relativeHeightMetres: 40.1, gimbalPitch: -90, speedNorth: 1.5, flightYaw: null },
    })
    // EV100 = log2(N²/t) − log2(S/100).
    expect(raw.ev100).toBeCloseTo(Math.log2(1.7 ** 2 / 0.5), 12)
  })

  it('survives a damaged XMP packet, and says so', () => {
    const raw = describeRaw(smallDng({ top: { 700: byte(...Buffer.from('<x><unclosed></x>')) } }))
    expect(raw.attitude).toBeNull()
    expect(raw.leftOut).toMatchObject([{ what: 'xmp', reason: 'xmp-malformed' }])
  })

  it('keeps a noise profile of 2 or 6 values; zeros are none', () => {
    expect(describeRaw(smallDng({ raw: { 51041: double(1e-4, 2e-8) } })).noise).toEqual([{ scale: 1e-4, offset: 2e-8 }])
    expect(describeRaw(smallDng({ raw: { 51041: double(1e-4, 0, 2e-4, 0, 3e-4, 0) } })).noise).toHaveLength(3)
    expect(describeRaw(smallDng({ raw: { 51041: double(0, 0) } }))).toMatchObject({ noise: null, leftOut: [] })
    expect(describeRaw(smallDng({ raw: { 51041: double(-1, Number.NaN) } }))).toMatchObject({
      noise: null,
      leftOut: [{ reason: 'noise-profile-unusable' }],
    })
  })

  it('takes a baseline exposure of 0/0 as none', () => {
    expect(describeRaw(smallDng({ top: { 50730: srational(0, 0) } })).baselineExposureStops).toBe(0)
  })

  it('says that pixels are not square', () => {
    expect(describeRaw(smallDng({ raw: { 50718: rational(2, 1, 1, 1) } })).leftOut).toMatchObject([
      { reason: 'pixels-not-square', facts: { horizontal: 2, vertical: 1 } },
    ])
  })

  it('takes an opcode list that holds nothing', () => {
    expect(describeRaw(smallDng({ raw: { 51022: undefinedBytes([0, 0, 0, 0]) } })).opcodes).toEqual([])
  })

  it('needs DNGVersion, and refuses a version above its own', () => {
    expect(failureOf(() => describeRaw(smallDng({ top: { 50706: null } }))).code).toBe('not-dng')
    expect(failureOf(() => describeRaw(smallDng({ top: { 50707: byte(1, 8, 0, 0) } }))).code).toBe('dng-version')
  })

  it('says that there is no raw picture where all pictures are finished ones', () => {
    expect(failureOf(() => describeRaw(smallDng({ raw: { 262: short(2) } })))).toMatchObject({
      kind: 'unsupported',
      code: 'no-raw-picture',
    })
    expect(failureOf(() => describeRaw(smallDng({ raw: { 254: long(1) } }))).code).toBe('no-raw-picture')
  })

  it('asks for more where the head of the file is too short, and then says the same as with the whole', () => {
    const bytes = smallDng({
      thumbnail: true,
      exif: { 33434: rational(1, 2) },
      top: { 271: ascii('Maker of cameras') },
    })
    let have = 8
    let rounds = 0
    for (;;) {
      try {
        expect(describeRaw(bytes.subarray(0, have), bytes.length)).toEqual(describeRaw(bytes))
        break
      } catch (error) {
        const needed = (error as { code?: string; facts?: { neededBytes: number } }).facts?.neededBytes ?? 0
        expect(needed).toBeGreaterThan(have)
        have = needed
        rounds++
      }
    }
    expect(rounds).toBeGreaterThan(2)
  })
})

/** Facts of the sample set's README. */
describe.skipIf(!existsSync(join(samples, 'dng')))('real raw files (sample files absent when skipped)', () => {
  const read = (name: string) => describeRaw(new Uint8Array(readFileSync(join(samples, 'dng', name))))

  it('a cinema frame: two lossless-JPEG tiles, a linearisation table, no exposure', () => {
    const raw = read('cfa_ljpeg_1comp_pred6_1952x1112.dng')
    expect(raw).toMatchObject({
      littleEndian: false,
      cfa: [1, 2, 0, 1],
      bitsPerSample: 12,
      packing: 'lossless-jpeg',
      black: { values: [256] },
      white: [51080],
      exposureSeconds: null,
      iso: null,
      fNumber: null,
      ev100: null,
      leftOut: [],
    })
    expect(raw.linearisation).toHaveLength(4096)
    expect(raw.segments.map((s) => [s.x, s.width, s.height])).toEqual([
      [0, 976, 1112],
      [976, 976, 1112],
    ])
    expect(raw.crop).toEqual({ x: 16, y: 16, width: 1920, height: 1080 })
  })

  it('an action camera: 192 tiles, a gain map for each filter phase, a noise profile', () => {
    const raw = read('cfa_gainmap4_iso100_4000x3000_ljpeg.dng')
    expect(raw).toMatchObject({
      width: 4000,
      height: 3000,
      bitsPerSample: 16,
      orientation: 2,
      iso: 100,
      white: [16383],
      leftOut: [],
    })
    expect(raw.segments).toHaveLength(192)
    expect(raw.noise).toHaveLength(1)
    const maps = raw.opcodes.map((o) => (o.content.kind === 'gain-map' ? o.content : null))
    expect(maps.map((m) => [m?.area.top, m?.area.left, m?.pointsV, m?.pointsH])).toEqual([
      [0, 0, 23, 23],
      [0, 1, 23, 23],
      [1, 0, 23, 23],
      [1, 1, 23, 23],
    ])
    const gains = maps.flatMap((m) => [...(m?.gains ?? [])])
    expect(Math.min(...gains)).toBeCloseTo(1, 1)
    expect(Math.max(...gains)).toBeCloseTo(2.08, 2)
  })

  it('a fisheye frame: one warp of three planes', () => {
    const raw = read('cfa_warprect_fisheye_3104x3000_ljpeg.dng')
    expect(raw.opcodes).toMatchObject([{ list: 3, name: 'WarpRectilinear', content: { kind: 'warp-rectilinear' } }])
    expect(raw.opcodes.map((o) => (o.content.kind === 'warp-rectilinear' ? o.content.planes.length : 0))).toEqual([3])
  })

  it('a packed frame with masked borders, whose exposure of zero is unknown', () => {
    expect(read('cfa_packed14_1888x1182.dng')).toMatchObject({
      bitsPerSample: 14,
      packing: 'none',
      black: { values: [2056] },
      white: [15000],
      activeArea: { x: 152, y: 26, width: 1734, height: 1156 },
      crop: { x: 0, y: 0, width: 1734, height: 1156 },
      exposureSeconds: null,
      iso: null,
      fNumber: null,
      baselineExposureStops: 0,
      takenAt: { camera: null, utc: null },
    })
  })

  it.each(['600x338', 'noise_600x400', 'rotated_600x338'])(
    'a linear picture in lossy JPEG is refused by that name (%s)',
    (name) => {
      expect(failureOf(() => read(`linear_lossyjpeg_mappoly_${name}.dng`))).toMatchObject({
        kind: 'unsupported',
        code: 'compression',
        facts: { found: 34892, name: 'lossy JPEG' },
      })
    },
  )
})
