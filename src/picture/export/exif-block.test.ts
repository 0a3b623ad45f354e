import { describe, expect, it } from 'vitest'
import { readExif, readTiff } from '#core/formats'
import { exifBlock, exposureFraction, noFacts } from './exif-block.ts'
import { alwaysRemoved } from './privacy.ts'

const picture = { width: 4000, height: 3000, software: 'Duskwork 0.1.0', space: 'srgb' } as const
const facts = {
  exposureSeconds: 1 / 30,
  fNumber: 1.7,
  iso: 100,
  focalLengthMillimetres: 6.72,
  takenAtCamera: '2027-02-09T17:31:05',
  offsetMinutes: -210,
  make: 'Maker',
  model: 'Model',
  artist: 'Åsa Ö',
  copyright: 'CC BY 4.0',
  caption: 'The weir',
}

/** Where a two-byte little-endian tag number stands at the start of any directory entry. */
function tagsIn(bytes: Uint8Array): Set<number> {
  const { directories, window } = readTiff(bytes)
  const tags = new Set<number>()
  const entries = (at: number) => {
    for (let i = 0; i < window.u16(at); i++) tags.add(window.u16(at + 2 + i * 12))
  }
  for (const d of directories) {
    entries(d.offset)
    for (const pointer of [34665, 34853, 40965]) {
      const field = d.fields.get(pointer)
      if (field) entries(window.u32(field.valueOffset))
    }
  }
  return tags
}

describe('the Exif block of a print', () => {
  it('says the exposure, the time and its zone, upright, and who made it', () => {
    const { bytes, kept } = exifBlock(facts, picture)
    const found = readExif(readTiff(bytes), [])
    expect(found.exposureSeconds).toBeCloseTo(1 / 30, 9)
    expect(found.fNumber).toBeCloseTo(1.7, 6)
    expect(found.iso).toBe(100)
    expect(found.focalLengthMillimetres).toBeCloseTo(6.72, 6)
    expect(found.orientation).toBe(1)
    expect([found.make, found.model]).toEqual(['Maker', 'Model'])
    expect(kept).toEqual([
      'exposure-time',
      'f-number',
      'iso',
      'date',
      'time-offset',
      'focal-length',
      'caption',
      'make',
      'model',
      'artist',
      'copyright',
      'orientation',
      'software',
    ])
    const text = new TextDecoder().decode(bytes)
    for (const part of [
      '2027:02:09 17:31:05\0',
      '-03:30\0',
      'Duskwork 0.1.0\0',
      'Åsa Ö\0',
      'The weir\0',
      'CC BY 4.0\0',
    ]) {
      expect(text).toContain(part)
    }
  })

  it('holds no tag of a position, a maker’s block, a serial number, an owner, XMP or a second picture', () => {
    const tags = tagsIn(exifBlock(facts, picture).bytes)
    for (const tag of [34853, 37500, 42033, 42037, 42032, 50735, 700, 513, 514]) expect(tags).not.toContain(tag)
    expect(readTiff(exifBlock(facts, picture).bytes).directories).toHaveLength(1)
    expect(alwaysRemoved).toContain('gps-position')
  })

  it('leaves out what is not known instead of writing zeros', () => {
    const { bytes, kept } = exifBlock({ ...noFacts, iso: 0, exposureSeconds: 0, takenAtCamera: 'yesterday' }, picture)
    const tags = tagsIn(bytes)
    for (const tag of [33434, 33437, 34855, 36867, 36881, 37386, 270, 271, 272, 315, 33432])
      expect(tags).not.toContain(tag)
    expect(kept).toEqual(['orientation', 'software'])
  })

  it('writes shutter times as readers expect them', () => {
    expect(exposureFraction(1 / 30)).toEqual([1, 30])
    expect(exposureFraction(0.002141)).toEqual([1, 467])
    expect(exposureFraction(0.6)).toEqual([600_000, 1_000_000])
    expect(exposureFraction(2.5)).toEqual([2500, 1000])
    for (const seconds of [1 / 8000, 0.0031, 0.3, 0.5, 1, 4, 1200]) {
      const [n, d] = exposureFraction(seconds)
      expect(Math.abs(n / d / seconds - 1)).toBeLessThan(0.005)
    }
  })
})
