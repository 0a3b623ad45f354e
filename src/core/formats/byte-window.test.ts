import { describe, expect, it } from 'vitest'
import { failureOf } from '../../../test/tiff-bytes.ts'
import { byteWindow, readInParts } from './byte-window.ts'

describe('a byte window', () => {
  const bytes = Uint8Array.of(0, 0x01, 0x02, 0x03, 0xff, 0xfe, 0x40, 0x09, 0x21, 0xfb, 0x54, 0x44, 0x2d, 0x18)

  it('reads both byte orders', () => {
    expect(byteWindow(bytes, false).u32(0)).toBe(0x00010203)
    expect(byteWindow(bytes, true).u32(0)).toBe(0x03020100)
    expect(byteWindow(bytes, false).i16(4)).toBe(-2)
    // 0x400921FB54442D18 is the double nearest to pi (IEEE 754).
    expect(byteWindow(bytes, false).f64(6)).toBe(Math.PI)
  })

  it('calls a read past the file malformed, with the place and the size', () => {
    expect(failureOf(() => byteWindow(bytes, true).u32(11))).toEqual({
      kind: 'malformed',
      code: 'outside-file',
      facts: { offset: 11, wantedBytes: 4, fileBytes: 14 },
    })
    expect(failureOf(() => byteWindow(bytes, true).slice(-1, 1)).code).toBe('outside-file')
    expect(failureOf(() => byteWindow(bytes, true).slice(0, Number.NaN)).code).toBe('outside-file')
  })

  it('calls a read past the head alone a limit, and says how much is needed', () => {
    expect(failureOf(() => byteWindow(bytes, true, 100).u32(60))).toEqual({
      kind: 'limit',
      code: 'beyond-head',
      facts: { offset: 60, neededBytes: 64, headBytes: 14 },
    })
  })

  it('reads of a file taken in parts what was read, and asks for the rest', () => {
    const sparse = new Uint8Array(100)
    sparse.set([1, 2, 3, 4], 80)
    readInParts(sparse, [
      { from: 0, to: 16 },
      { from: 80, to: 84 },
    ])
    const window = byteWindow(sparse, true, 100)
    expect(window.u32(80)).toBe(0x04030201)
    expect(window.slice(0, 16)).toHaveLength(16)
    for (const at of [14, 40, 81]) {
      expect(failureOf(() => window.u32(at))).toMatchObject({
        code: 'beyond-head',
        facts: { offset: at, neededBytes: at + 4 },
      })
    }
    expect(failureOf(() => window.u32(97)).code).toBe('outside-file')
  })
})
