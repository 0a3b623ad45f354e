import { describe, expect, it } from 'vitest'
import { type Fields, failureOf, long, rational, short, smallDng, srational } from '../../../test/tiff-bytes.ts'
import { describeRaw } from './describe-raw.ts'

const read = (raw: Fields) => describeRaw(smallDng({ raw }))

describe('levels', () => {
  it('black repeats by rows, then columns; fractions and unequal values are kept', () => {
    const black = rational(5207, 100, 5205, 100, 5185, 100, 5221, 100)
    expect(read({ 50713: short(2, 2), 50714: black, 50717: short(1023) })).toMatchObject({
      black: { repeatRows: 2, repeatColumns: 2, values: [52.07, 52.05, 51.85, 52.21] },
      white: [1023],
    })
    expect(read({ 50713: short(1, 2), 50714: short(64, 65) }).black).toMatchObject({
      repeatRows: 1,
      repeatColumns: 2,
      values: [64, 65],
    })
  })

  it('black is SHORT, LONG or RATIONAL, and may be above 256', () => {
    for (const black of [short(2056), long(2056), rational(4112, 2)])
      expect(read({ 50714: black }).black.values).toEqual([2056])
  })

  it('one black value serves the whole pattern', () => {
    expect(read({ 50713: short(2, 2), 50714: short(64) }).black.values).toEqual([64, 64, 64, 64])
  })

  it('differences by column and row are kept where there is one for each of the active area', () => {
    const deltas = { 50829: long(0, 0, 6, 4), 50715: srational(0, 1, 1, 1, 0, 1, -1, 1) }
    expect(read(deltas).black.deltaColumns).toEqual([0, 1, 0, -1])
    const wrong = read({ ...deltas, 50829: long(0, 0, 6, 5) })
    expect(wrong.black.deltaColumns).toBeNull()
    expect(wrong.leftOut).toMatchObject([
      { what: 'tag 50715', reason: 'black-delta-unusable', facts: { expected: 5, found: 4 } },
    ])
  })

  it('white is 2^bits − 1 by default', () => {
    const strip = { segments: [new Uint8Array(72)] }
    expect(describeRaw(smallDng({ raw: { 258: short(12) }, ...strip })).white).toEqual([4095])
  })

  it('a white level of zero or above 16 bits is replaced, and that is told', () => {
    expect(read({ 50717: long(0) })).toMatchObject({ white: [65535], leftOut: [{ reason: 'white-unusable' }] })
    expect(read({ 50717: long(70000) })).toMatchObject({ white: [65535], leftOut: [{ reason: 'white-unusable' }] })
  })

  it('the linearisation table is kept whole', () => {
    expect([...read({ 50712: short(0, 2, 5, 65535) }).linearisation!]).toEqual([0, 2, 5, 65535])
  })

  it.each<[string, Fields, string]>([
    ['a repeat of no rows', { 50713: short(0, 2) }, 'black-repeat'],
    ['a repeat of a million', { 50713: short(65535, 65535) }, 'black-repeat'],
    ['three values for four', { 50713: short(2, 2), 50714: short(1, 2, 3) }, 'black-count'],
    ['a value over zero', { 50714: rational(64, 0) }, 'black-level'],
    ['white not above black', { 50714: short(1023), 50717: short(1023) }, 'white-below-black'],
  ])('%s is malformed or over a limit', (_, raw, expected) => {
    expect(failureOf(() => read(raw)).code).toBe(expected)
  })
})
