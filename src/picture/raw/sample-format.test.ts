import { describe, expect, it } from 'vitest'
import { byte, type Fields, failureOf, long, short, smallDng } from '../../../test/tiff-bytes.ts'
import { describeRaw } from './describe-raw.ts'

const refusal = (raw: Fields) => {
  const { kind, code } = failureOf(() => describeRaw(smallDng({ raw })))
  return `${kind} ${code}`
}

describe('sample formats', () => {
  it.each([
    ['lossy JPEG', 34892],
    ['JPEG XL', 52546],
    ['JPEG 2000 (wavelet)', 34712],
    ['LZW', 5],
    ['number 34713', 34713],
  ])('compression %s is refused by that name', (name, number) => {
    const found = failureOf(() => describeRaw(smallDng({ raw: { 259: long(number) } })))
    expect(found).toMatchObject({ kind: 'unsupported', code: 'compression', facts: { found: number, name } })
  })

  it.each<[string, Fields, string]>([
    ['floating point', { 339: short(3) }, 'unsupported float-samples'],
    ['signed whole numbers', { 339: short(2) }, 'unsupported sample-kind'],
    ['32 bits', { 258: short(32) }, 'unsupported bits-per-sample'],
    ['4 bits', { 258: short(4) }, 'unsupported bits-per-sample'],
    ['planes of different bits', { 258: short(16, 8, 8) }, 'unsupported bits-differ'],
    [
      'a 6 × 6 filter pattern',
      { 33421: short(6, 6), 33422: byte(...new Array(36).fill(1)) },
      'unsupported cfa-pattern',
    ],
    ['a pattern that is not Bayer', { 33422: byte(0, 1, 2, 1) }, 'unsupported cfa-pattern'],
    ['a pattern with white filters', { 33422: byte(0, 1, 6, 2) }, 'unsupported cfa-pattern'],
    ['no pattern', { 33422: null }, 'malformed cfa-pattern-absent'],
    ['cyan, magenta, yellow', { 50710: byte(3, 4, 5) }, 'unsupported cfa-colours'],
    ['a staggered layout', { 50711: short(2) }, 'unsupported cfa-layout'],
    ['three samples in a mosaic', { 277: short(3) }, 'unsupported samples-per-pixel'],
    ['four samples in a linear picture', { 262: short(34892), 277: short(4) }, 'unsupported samples-per-pixel'],
    [
      'planes one after another',
      { 262: short(34892), 277: short(3), 284: short(2) },
      'unsupported planar-configuration',
    ],
    ['bits in reverse', { 266: short(2) }, 'unsupported fill-order'],
    ['interleaved rows', { 50975: short(2) }, 'unsupported interleaved-samples'],
    ['a floating-point predictor', { 259: short(8), 317: short(3) }, 'unsupported predictor'],
    ['no width', { 256: long(0) }, 'malformed picture-size'],
    ['no height', { 257: null }, 'malformed picture-size'],
    ['65,001 columns', { 256: long(65001) }, 'limit picture-too-large'],
    ['more than 400 Mpx', { 256: long(40000), 257: long(40000) }, 'limit picture-too-large'],
  ])('%s is refused', (_, raw, expected) => {
    expect(refusal(raw)).toBe(expected)
  })

  it('a linear picture of three samples is taken', () => {
    const raw = { 262: short(34892), 277: short(3), 258: short(8, 8, 8), 33421: null, 33422: null }
    const found = describeRaw(smallDng({ raw, segments: [new Uint8Array(8 * 6 * 3)] }))
    expect(found).toMatchObject({
      samples: 'linear',
      samplesPerPixel: 3,
      cfa: null,
      bitsPerSample: 8,
      white: [255, 255, 255],
    })
  })

  it('planar configuration 2 means nothing with one sample a pixel', () => {
    expect(describeRaw(smallDng({ raw: { 284: short(2) } })).samplesPerPixel).toBe(1)
  })
})
