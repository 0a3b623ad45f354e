import { describe, expect, it } from 'vitest'
import type { LeftOut } from '#core/base'
import { ascii, byte, type Fields, long, rational, short, smallDng, srational } from '../../../test/tiff-bytes.ts'
import { readExif } from './exif.ts'
import { readTiff } from './tiff-directory.ts'

const read = (exif: Fields, gps?: Fields, top?: Fields) =>
  readExif(readTiff(smallDng({ exif, ...(gps ? { gps } : {}), ...(top ? { top } : {}) })), [])

describe('Exif exposure', () => {
  it('is the file’s own fraction', () => {
    const facts = read({
      33434: rational(2141, 1_000_000),
      33437: rational(17, 10),
      34855: short(400),
      37386: rational(672, 100),
    })
    expect(facts).toMatchObject({ exposureSeconds: 0.002141, fNumber: 1.7, iso: 400, focalLengthMillimetres: 6.72 })
  })

  it('is unknown, not zero, where the file says zero, nothing, or something over zero', () => {
    const zero = read({
      33434: rational(0, 1_000_000),
      33437: rational(0, 10),
      34855: short(0),
      37386: rational(0, 1000),
      37377: srational(0, 96),
    })
    const none = read({ 36864: byte(1) })
    const overZero = read({ 33434: rational(1, 0), 33437: rational(0, 0), 37386: rational(5, 0) })
    for (const facts of [zero, none, overZero])
      expect(facts).toMatchObject({ exposureSeconds: null, fNumber: null, iso: null, focalLengthMillimetres: null })
  })

  it('is unknown where it is absurd', () => {
    expect(
      read({ 33434: rational(4_000_000_000, 1), 33437: rational(1, 100), 37386: rational(4_000_000_000, 1) }),
    ).toMatchObject({
      exposureSeconds: null,
      fNumber: null,
      focalLengthMillimetres: null,
    })
  })

  it('falls back to APEX values and to the long sensitivity tags', () => {
    // Exif 2.32 annex C: Tv 6 is 1/64 s, Av 2 is f/2.
    const facts = read({ 37377: srational(6, 1), 37378: rational(2, 1), 34855: short(65535), 34866: long(102400) })
    expect(facts).toMatchObject({ exposureSeconds: 1 / 64, fNumber: 2, iso: 102400 })
  })

  it('is also found in the top directory', () => {
    expect(read({ 36864: byte(1) }, undefined, { 33434: rational(1, 8), 34855: short(200) })).toMatchObject({
      exposureSeconds: 0.125,
      iso: 200,
    })
  })
})

describe('Exif position', () => {
  const north = { 1: ascii('N'), 2: rational(38, 1, 30, 1, 0, 1), 3: ascii('W'), 4: rational(28, 1, 6, 1, 0, 1) }

  it('is in signed degrees and metres', () => {
    expect(read({}, { ...north, 5: byte(0), 6: rational(198409, 1000) })).toMatchObject({
      latitude: 38.5,
      longitude: -28.1,
      altitudeMetres: 198.409,
    })
    expect(read({}, { ...north, 1: ascii('S'), 5: byte(1), 6: rational(12, 1) })).toMatchObject({
      latitude: -38.5,
      altitudeMetres: -12,
    })
  })

  it('is unknown without a fix, a reference or a denominator', () => {
    const noFix = { ...north, 2: rational(0, 1, 0, 1, 0, 1), 4: rational(0, 1, 0, 1, 0, 1) }
    for (const gps of [
      noFix,
      { ...north, 1: null },
      { ...north, 2: rational(0, 0, 0, 0, 0, 0) },
      { ...north, 2: rational(91, 1, 0, 1, 0, 1) },
    ])
      expect(read({}, gps)).toMatchObject({ latitude: null, longitude: null, altitudeMetres: null })
  })
})

describe('a damaged Exif directory', () => {
  it('costs only itself and is named', () => {
    const bytes = smallDng({ top: { 34665: long(0x7ffffff0), 271: ascii('Maker') } })
    const leftOut: LeftOut[] = []
    const facts = readExif(readTiff(bytes), leftOut)
    expect(facts).toMatchObject({ make: 'Maker', exposureSeconds: null })
    expect(leftOut).toMatchObject([{ what: 'directory of tag 34665', reason: 'outside-file' }])
  })
})
