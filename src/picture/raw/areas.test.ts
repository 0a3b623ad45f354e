import { describe, expect, it } from 'vitest'
import { type Fields, failureOf, long, rational, short, smallDng } from '../../../test/tiff-bytes.ts'
import { describeRaw } from './describe-raw.ts'

const read = (raw: Fields) => describeRaw(smallDng({ raw }))

describe('areas', () => {
  it('the active area is top, left, bottom, right with the last two exclusive', () => {
    expect(read({ 50829: long(1, 2, 6, 7) }).activeArea).toEqual({ x: 2, y: 1, width: 5, height: 5 })
  })

  it('an active area past the picture is cut to it, and that is told', () => {
    const found = read({ 50829: long(0, 0, 60, 8) })
    expect(found.activeArea).toEqual({ x: 0, y: 0, width: 8, height: 6 })
    expect(found.leftOut).toMatchObject([{ what: 'active area', reason: 'cut-to-picture' }])
  })

  it('an active area of nothing is malformed', () => {
    expect(failureOf(() => read({ 50829: long(3, 3, 3, 5) })).code).toBe('active-area')
    expect(failureOf(() => read({ 50829: long(9, 9, 20, 20) })).code).toBe('active-area')
    expect(failureOf(() => read({ 50829: long(0, 0) })).code).toBe('active-area')
  })

  it('the crop may be fractions, and counts from the active area', () => {
    const found = read({ 50829: long(1, 1, 6, 8), 50719: rational(19, 10, 1, 1), 50720: rational(81, 20, 3, 1) })
    expect(found.crop).toEqual({ x: 2, y: 1, width: 4, height: 3 })
  })

  it('the crop is cut to the active area: its standard default is the whole picture', () => {
    expect(read({ 50829: long(1, 2, 6, 7), 50720: long(8, 6) }).crop).toEqual({ x: 0, y: 0, width: 5, height: 5 })
    expect(read({ 50719: short(4, 4) }).crop).toEqual({ x: 4, y: 4, width: 4, height: 2 })
  })

  it('a crop outside the active area, or over zero, gives the whole area and is told', () => {
    for (const origin of [long(100, 100), rational(0, 0, 0, 0)]) {
      const found = read({ 50719: origin })
      expect(found.crop).toEqual({ x: 0, y: 0, width: 8, height: 6 })
      expect(found.leftOut).toMatchObject([{ reason: 'crop-outside-active-area' }])
    }
  })

  it('masked areas are kept where they lie in the picture', () => {
    expect(read({ 50830: long(0, 0, 6, 2, 9, 9, 12, 12, 0, 7, 99, 8) }).maskedAreas).toEqual([
      { x: 0, y: 0, width: 2, height: 6 },
      { x: 7, y: 0, width: 1, height: 6 },
    ])
  })

  it('orientation 1 to 8 is kept; another is upright and told; 0 is what writers put who do not know', () => {
    for (const o of [1, 2, 3, 4, 5, 6, 7, 8]) expect(read({ 274: short(o) }).orientation).toBe(o)
    expect(read({ 274: short(9) })).toMatchObject({ orientation: 1, leftOut: [{ reason: 'orientation-unknown' }] })
    expect(read({ 274: short(0) })).toMatchObject({ orientation: 1, leftOut: [] })
  })
})
