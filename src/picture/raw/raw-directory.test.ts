import { describe, expect, it } from 'vitest'
import { type DirectoryToWrite, type FieldToWrite, readTiff, writeTiff } from '#core/formats'
import { failureOf, long, short } from '../../../test/tiff-bytes.ts'
import { rawDirectory } from './raw-directory.ts'

const MOSAIC = 32803
const LINEAR = 34892
const FINISHED = 2

function directory(photometric: number, width: number, subfile = 0, children: readonly DirectoryToWrite[] = []) {
  const fields: FieldToWrite[] = [
    { tag: 254, ...long(subfile) },
    { tag: 256, ...long(width) },
    { tag: 257, ...long(10) },
    { tag: 262, ...short(photometric) },
  ]
  return { fields, children: children.length > 0 ? [{ tag: 330, directories: children }] : [] }
}

const chosenWidth = (...top: DirectoryToWrite[]) => rawDirectory(readTiff(writeTiff(top)), []).number(256)

describe('the raw directory', () => {
  it('is the full-resolution one, wherever it lies', () => {
    expect(chosenWidth(directory(MOSAIC, 40))).toBe(40)
    expect(chosenWidth(directory(FINISHED, 4, 1, [directory(FINISHED, 20, 1), directory(MOSAIC, 40)]))).toBe(40)
    expect(chosenWidth(directory(FINISHED, 4, 1), directory(MOSAIC, 40))).toBe(40)
    expect(chosenWidth(directory(FINISHED, 4, 1, [directory(FINISHED, 20, 1, [directory(MOSAIC, 40)])]))).toBe(40)
  })

  it('is a mosaic before a linear picture, and the larger of two', () => {
    expect(chosenWidth(directory(LINEAR, 80, 0, [directory(MOSAIC, 40)]))).toBe(40)
    expect(chosenWidth(directory(MOSAIC, 20, 0, [directory(MOSAIC, 40), directory(MOSAIC, 30)]))).toBe(40)
  })

  it('is never a reduced picture, a mask or an enhanced one', () => {
    for (const subfile of [1, 4, 16, 65537])
      expect(failureOf(() => chosenWidth(directory(MOSAIC, 40, subfile))).code).toBe('no-raw-picture')
  })
})
