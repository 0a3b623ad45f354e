import { existsSync, readFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { samples } from '../../../test/kernels.ts'
import { failureOf, rational, short, smallDng } from '../../../test/tiff-bytes.ts'
import { describeRendered } from './describe-rendered.ts'
import { sniff } from './sniff.ts'

const segment = (marker: number, body: Uint8Array | number[]) => [
  0xff,
  marker,
  (body.length + 2) >> 8,
  (body.length + 2) & 255,
  ...body,
]
const jpeg = (exif: Uint8Array | null, frame = [8, 0, 60, 0, 80, 3], marker = 0xc0) =>
  Uint8Array.from([
    0xff,
    0xd8,
    ...(exif ? segment(0xe1, [...Buffer.from('Exif\0\0'), ...exif]) : []),
    ...segment(marker, frame),
    0xff,
    0xda,
  ])

describe('a rendered file', () => {
  it('gives size, orientation and exposure', () => {
    const exif = smallDng({
      top: { 274: short(6) },
      exif: { 33434: rational(1, 60), 33437: rational(2, 1), 34855: short(200) },
    })
    const found = describeRendered(jpeg(exif))
    expect(found).toMatchObject({
      kind: 'jpeg',
      width: 80,
      height: 60,
      samples: 'rendered',
      bitsPerSample: 8,
      orientation: 6,
      iso: 200,
      attitude: null,
      leftOut: [],
    })
    expect(found.ev100).toBeCloseTo(Math.log2(4 * 60) - 1, 12)
  })

  it('is whole without Exif, and with Exif that is damaged', () => {
    expect(describeRendered(jpeg(null))).toMatchObject({
      exposureSeconds: null,
      orientation: 1,
      takenAt: { utc: null, camera: null, subSecond: 0 },
    })
    expect(describeRendered(jpeg(Uint8Array.of(1, 2, 3)))).toMatchObject({
      width: 80,
      leftOut: [{ what: 'exif', reason: 'not-tiff' }],
    })
  })

  it.each([
    ['a lossless stream', [8, 0, 60, 0, 80, 3], 0xc3, 'jpeg-process'],
    ['12 bits', [12, 0, 60, 0, 80, 3], 0xc1, 'jpeg-precision'],
    ['four components', [8, 0, 60, 0, 80, 4], 0xc0, 'jpeg-components'],
    ['a height that comes later', [8, 0, 0, 0, 80, 3], 0xc0, 'jpeg-height-later'],
    ['a width beyond the limit', [8, 0, 60, 255, 255, 3], 0xc0, 'picture-too-large'],
  ])('%s is refused by name', (_, frame, marker, code) => {
    expect(failureOf(() => describeRendered(jpeg(null, frame, marker))).code).toBe(code)
  })
})

describe('the kind of a file', () => {
  it('is told by its bytes, not its name', () => {
    expect(sniff(smallDng())).toBe('dng')
    expect(sniff(smallDng({ littleEndian: false }))).toBe('dng')
    expect(sniff(smallDng({ top: { 50706: null } }))).toBe('tiff')
    expect(sniff(jpeg(null))).toBe('jpeg')
    expect(sniff(Uint8Array.of(0x89, 0x50, 0x4e, 0x47))).toBe('unknown')
    expect(sniff(new Uint8Array(0))).toBe('unknown')
    expect(sniff(smallDng().subarray(0, 20))).toBe('tiff')
  })
})

/** Facts of the sample set's README. */
describe.skipIf(!existsSync(join(samples, 'drone-stills')))(
  'real rendered files (sample files absent when skipped)',
  () => {
    const read = (name: string) => describeRendered(new Uint8Array(readFileSync(join(samples, name))))

    it('drone stills look straight down from 40 m', () => {
      for (const name of ['nadir_0024.jpg', 'nadir_0025.jpg']) {
        const { attitude, position } = read(join('drone-stills', name))
        expect(attitude!.relativeHeightMetres).toBeGreaterThan(39)
        expect(attitude!.relativeHeightMetres).toBeLessThan(41)
        expect(attitude!.gimbalPitch).toBeGreaterThan(-91)
        expect(attitude!.gimbalPitch).toBeLessThan(-89)
        for (const angle of ['gimbalYaw', 'gimbalRoll', 'flightYaw', 'flightPitch', 'flightRoll'] as const)
          expect(attitude![angle]).not.toBeNull()
        expect(position!.altitudeMetres).toBeGreaterThan(0)
      }
    })

    it('a night bracket runs from 2 s to 1/60 s in stops, at one sensitivity and aperture, turned by 180°', () => {
      const frames = ['04', '05', '06', '07', '08', '09', '10', '11'].map((n) =>
        read(join('bracket-night-garden', `${n}.jpg`)),
      )
      const times = frames.map((f) => f.exposureSeconds!).sort((a, b) => b - a)
      expect(times[0]).toBe(2)
      expect(1 / times.at(-1)!).toBeCloseTo(60, 0)
      for (const f of frames)
        expect(f).toMatchObject({ width: 4032, height: 3024, iso: 200, fNumber: 1.5, orientation: 3, leftOut: [] })
    })
  },
)
