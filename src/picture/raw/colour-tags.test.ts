import { describe, expect, it } from 'vitest'
import { ascii, type Fields, rational, short, smallDng, srational } from '../../../test/tiff-bytes.ts'
import { describeRaw } from './describe-raw.ts'

const read = (top: Fields) => describeRaw(smallDng({ thumbnail: true, top }))
const nine = (...values: number[]) => srational(...values.flatMap((v) => [Math.round(v * 10_000), 10_000]))
const eye = nine(1, 0, 0, 0, 1, 0, 0, 0, 1)

describe('colour tags', () => {
  it('two illuminants with their matrices, in row order', () => {
    const { colour } = read({
      50778: short(17),
      50779: short(21),
      50721: nine(0.95, -0.3, -0.08, -0.45, 1.3, 0.17, -0.05, 0.12, 0.72),
      50722: eye,
      50964: eye,
      50965: eye,
    })
    expect(colour).toMatchObject({ illuminant1: 17, illuminant2: 21 })
    expect(colour.colorMatrix1).toEqual([0.95, -0.3, -0.08, -0.45, 1.3, 0.17, -0.05, 0.12, 0.72])
    expect(colour.forwardMatrix2).toEqual([1, 0, 0, 0, 1, 0, 0, 0, 1])
  })

  it('camera calibrations count only under equal signatures, both absent included', () => {
    expect(read({ 50723: eye }).colour.cameraCalibration1).not.toBeNull()
    expect(read({ 50723: eye, 50931: ascii('a'), 50932: ascii('a') }).colour.cameraCalibration1).not.toBeNull()
    expect(read({ 50723: eye, 50931: ascii('a'), 50932: ascii('b') }).colour.cameraCalibration1).toBeNull()
    expect(read({ 50723: eye, 50931: ascii('a') }).colour.cameraCalibration1).toBeNull()
  })

  it('neutral is rational or short; white as x, y stands beside it', () => {
    expect(read({ 50728: rational(1, 2, 1, 1, 2, 3) }).colour.asShotNeutral).toEqual([0.5, 1, 2 / 3])
    expect(read({ 50728: short(1, 1, 1) }).colour.asShotNeutral).toEqual([1, 1, 1])
    expect(read({ 50729: rational(3127, 10_000, 329, 1000) }).colour.asShotWhiteXY).toEqual([0.3127, 0.329])
  })

  it('a value of the wrong count, over zero, or all zero is left out and told', () => {
    const found = read({
      50721: srational(1, 1),
      50722: nine(0, 0, 0, 0, 0, 0, 0, 0, 0),
      50728: rational(1, 0, 1, 1, 1, 1),
    })
    expect(found.colour).toMatchObject({ colorMatrix1: null, colorMatrix2: null, asShotNeutral: null })
    expect(found.leftOut.map((l) => [l.what, l.reason])).toEqual([
      ['tag 50721', 'colour-tag-unusable'],
      ['tag 50722', 'colour-tag-unusable'],
      ['tag 50728', 'colour-tag-unusable'],
    ])
  })
})
