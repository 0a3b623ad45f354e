import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { Failure, type LeftOut } from '#core/base'
import { failureOf } from '../../../test/tiff-bytes.ts'
import { childDirectories, isTiff, readTiff } from './tiff-directory.ts'
import { tagReader } from './tiff-value.ts'

const hex = (text: string) => Uint8Array.from(text.replace(/\s/g, '').match(/../g) ?? [], (b) => Number.parseInt(b, 16))

/** Written out by hand from TIFF 6.0 section 2: header, directory at 8 with four entries, next directory 0. */
const little = hex(`
  4949 2a00 08000000
  0400
  0001 0300 01000000 8007 0000
  0f01 0200 04000000 41424300
  1a01 0500 01000000 3e000000
  1101 0400 02000000 46000000
  00000000
  2c010000 02000000
  10000000 20000000
`)
const big = hex(`
  4d4d 002a 00000008
  0004
  0100 0003 00000001 0780 0000
  010f 0002 00000004 41424300
  011a 0005 00000001 0000003e
  0111 0004 00000002 00000046
  00000000
  0000012c 00000002
  00000010 00000020
`)

describe('a TIFF directory', () => {
  it.each([
    ['little-endian', little],
    ['big-endian', big],
  ])('gives inline and offset values of a %s file', (_, bytes) => {
    const tiff = readTiff(bytes)
    const tags = tagReader(tiff, tiff.directories[0]!, [])
    expect(tags.number(256)).toBe(1920)
    expect(tags.text(271)).toBe('ABC')
    expect(tags.number(282)).toBe(150)
    expect(tags.numbers(273)).toEqual([16, 32])
    expect(tags.number(305)).toBeNull()
  })

  it('reads all thirteen types, signed ones too', () => {
    // Type, count 1, value in the entry's four bytes or at 200.
    const entry = (tag: number, type: number, value: string) =>
      `${tag.toString(16).padStart(4, '0')} ${type.toString(16).padStart(4, '0')} 00000001 ${value}`
    const bytes = hex(`4d4d 002a 00000008 000b
      ${entry(1, 1, 'ff000000')} ${entry(2, 6, 'ff000000')} ${entry(3, 7, 'fe000000')} ${entry(4, 3, 'fffe0000')}
      ${entry(5, 8, 'fffe0000')} ${entry(6, 4, 'fffffffe')} ${entry(7, 9, 'fffffffe')} ${entry(8, 13, '0000000a')}
      ${entry(9, 11, '40490fdb')} ${entry(10, 10, '00000092')} ${entry(11, 12, '0000009a')}
      00000000 fffffffd 00000004 400921fb54442d18`)
    const tiff = readTiff(bytes)
    const tags = tagReader(tiff, tiff.directories[0]!, [])
    const values = [1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11].map((tag) => tags.number(tag))
    expect(values).toEqual([255, -1, 254, 65534, -2, 4294967294, -2, 10, Math.fround(Math.PI), -0.75, Math.PI])
  })

  it('gives null, not a number, for a rational over zero', () => {
    const bytes = big.slice()
    bytes.fill(0, 66, 70)
    const tiff = readTiff(bytes)
    expect(tagReader(tiff, tiff.directories[0]!, []).number(282)).toBeNull()
  })

  it('loses only the tag whose value lies outside the file, and says so', () => {
    const bytes = big.slice()
    bytes.set([0x7f, 0xff, 0xff, 0xff], 42)
    const leftOut: LeftOut[] = []
    const tiff = readTiff(bytes)
    const tags = tagReader(tiff, tiff.directories[0]!, leftOut)
    expect(tags.number(282)).toBeNull()
    expect(tags.number(256)).toBe(1920)
    expect(leftOut).toMatchObject([
      { what: 'tag 282', reason: 'outside-file', facts: { tag: 282, offset: 0x7fffffff } },
    ])
    expect(failureOf(() => tags.mustNumber(282)).code).toBe('outside-file')
  })

  it('refuses a value of four thousand million numbers without reading it', () => {
    const bytes = big.slice()
    bytes.set([0xff, 0xff, 0xff, 0xff], 50)
    const tiff = readTiff(bytes)
    const tags = tagReader(tiff, tiff.directories[0]!, [])
    expect(failureOf(() => tags.mustNumbers(273))).toMatchObject({ kind: 'limit', code: 'tag-too-large' })
  })

  it('ends a chain that runs in a circle, and keeps what it has', () => {
    const bytes = big.slice()
    bytes[61] = 8
    const tiff = readTiff(bytes)
    expect(tiff.directories).toHaveLength(1)
    expect(tiff.problems.map((p) => p.code)).toEqual(['directory-loop'])
  })

  it('skips a child directory that was seen before', () => {
    const tiff = readTiff(big)
    expect(childDirectories(tiff, [8, 8], new Set([8])).directories).toEqual([])
    expect(childDirectories(tiff, [9999], new Set()).problems.map((p) => p.code)).toEqual(['outside-file'])
  })

  it('refuses BigTIFF by name, and what is not TIFF as such', () => {
    const bigTiff = hex('4949 2b00 0800 0000 1000000000000000')
    expect(isTiff(bigTiff)).toBe(true)
    expect(failureOf(() => readTiff(bigTiff))).toMatchObject({ kind: 'unsupported', code: 'bigtiff' })
    expect(failureOf(() => readTiff(hex('ffd8ffe0'))).code).toBe('not-tiff')
    expect(failureOf(() => readTiff(new Uint8Array(0))).code).toBe('not-tiff')
  })

  it('throws nothing but Failures on any bytes after a good header', () => {
    fc.assert(
      fc.property(fc.uint8Array({ minLength: 0, maxLength: 300 }), fc.boolean(), (tail, isLittle) => {
        const bytes = Uint8Array.from([
          ...(isLittle ? [0x49, 0x49, 42, 0, 8, 0, 0, 0] : [0x4d, 0x4d, 0, 42, 0, 0, 0, 8]),
          ...tail,
        ])
        // A first count of one byte's size keeps many runs past the entry limit.
        if (bytes.length > 9) bytes[isLittle ? 9 : 8] = 0
        try {
          const tiff = readTiff(bytes)
          const leftOut: LeftOut[] = []
          for (const directory of tiff.directories) {
            const tags = tagReader(tiff, directory, leftOut)
            for (const tag of directory.fields.keys())
              expect(() => [tags.numbers(tag), tags.text(tag), tags.bytes(tag)]).not.toThrow()
          }
        } catch (error) {
          expect(error).toBeInstanceOf(Failure)
        }
      }),
      { numRuns: 2000, seed: 3 },
    )
  })
})
