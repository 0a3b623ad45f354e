import { describe, expect, it } from 'vitest'
import { type Fields, failureOf, long, short, smallDng } from '../../../test/tiff-bytes.ts'
import { describeRaw } from './describe-raw.ts'

const code = (raw: Fields, extra: object = {}) => failureOf(() => describeRaw(smallDng({ raw, ...extra }))).code

describe('strips and tiles', () => {
  it('one strip holds all rows where RowsPerStrip is absent or its largest value', () => {
    for (const rows of [null, long(0xffffffff)])
      expect(describeRaw(smallDng({ raw: { 278: rows } })).segments).toMatchObject([{ height: 6, byteCount: 96 }])
  })

  it('the last strip is shorter', () => {
    const found = describeRaw(smallDng({ raw: { 278: long(4) }, segments: [new Uint8Array(64), new Uint8Array(32)] }))
    expect(found.segments.map((s) => [s.y, s.height])).toEqual([
      [0, 4],
      [4, 2],
    ])
  })

  it('edge tiles reach past the picture', () => {
    const tiles = { 278: null, 322: long(5), 323: long(4) }
    const found = describeRaw(
      smallDng({ tiled: true, raw: tiles, segments: [0, 1, 2, 3].map(() => new Uint8Array(40)) }),
    )
    expect(found.segments.map((s) => [s.x, s.y, s.width, s.height])).toEqual([
      [0, 0, 5, 4],
      [5, 0, 5, 4],
      [0, 4, 5, 4],
      [5, 4, 5, 4],
    ])
  })

  it('rows of packed samples end at whole bytes: 8 columns of 14 bits take 14, 7 take 13', () => {
    const strip = (bytes: number) => ({ segments: [new Uint8Array(bytes)] })
    expect(describeRaw(smallDng({ raw: { 258: short(14) }, ...strip(84) })).bitsPerSample).toBe(14)
    expect(code({ 258: short(14) }, strip(83))).toBe('segment-short')
    expect(describeRaw(smallDng({ raw: { 258: short(14), 256: long(7) }, ...strip(78) })).width).toBe(7)
  })

  it('a file that ends inside its picture is called cut short, with both sizes', () => {
    const whole = smallDng({ thumbnail: true })
    const found = failureOf(() => describeRaw(whole.subarray(0, whole.length - 10)))
    expect(found).toMatchObject({
      kind: 'malformed',
      code: 'file-cut-short',
      facts: { wantedBytes: whole.length, fileBytes: whole.length - 10 },
    })
  })

  it.each<[string, Fields, string]>([
    ['no rows in a strip', { 278: long(0) }, 'strip-size'],
    ['fewer strips than rows ask for', { 278: long(2) }, 'segment-count'],
    ['tiles without width', { 322: long(0), 323: long(4) }, 'tile-size'],
    ['tiles larger than any picture', { 322: long(60000), 323: long(60000) }, 'tile-too-large'],
    [
      'more tiles than pixels are worth',
      { 256: long(20000), 257: long(20000), 322: long(1), 323: long(1) },
      'too-many-segments',
    ],
    [
      'too few bytes for any Huffman code',
      { 259: short(7), 256: long(20000), 257: long(20000), 278: null },
      'segment-short',
    ],
    ['a deflate bomb', { 259: short(8), 256: long(20000), 257: long(20000), 278: null }, 'segment-short'],
    ['compressed data without byte counts', { 259: short(7) }, 'not-jpeg'],
  ])('%s: refused', (_, raw, expected) => {
    expect(code(raw)).toBe(expected)
  })

  it.each([
    ['baseline', 0xc0, 8],
    ['extended, 12 bits', 0xc1, 12],
    ['progressive', 0xc2, 8],
  ])('Compression 7 with a %s DCT frame is refused as lossy', (_, marker, precision) => {
    const stream = Uint8Array.from([
      0xff,
      0xd8,
      0xff,
      marker,
      0,
      11,
      precision,
      0,
      6,
      0,
      8,
      1,
      1,
      0x11,
      0,
      ...new Array(80).fill(0),
    ])
    expect(failureOf(() => describeRaw(smallDng({ raw: { 259: short(7) }, segments: [stream] })))).toEqual({
      kind: 'unsupported',
      code: 'lossy-jpeg',
      facts: { marker: `SOF${marker - 0xc0}`, precision },
    })
  })
})
