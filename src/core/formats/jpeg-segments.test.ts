import { describe, expect, it } from 'vitest'
import { insertJpegSegments } from './jpeg-segments.ts'

/** SOI, an optional JFIF segment, then what stands for the coded picture. */
const jfif = [0xff, 0xe0, 0, 16, 0x4a, 0x46, 0x49, 0x46, 0, 1, 1, 0, 0, 1, 0, 1, 0, 0]
const rest = [0xff, 0xdb, 0, 3, 7, 0xff, 0xd9]
const jpeg = (...segments: number[]) => Uint8Array.from([0xff, 0xd8, ...segments, ...rest])

describe('segments spliced into a JPEG', () => {
  it('stand after SOI, or after the JFIF segment, and change nothing else', () => {
    const exif = Uint8Array.of(1, 2, 3)
    const added = [0xff, 0xe1, 0, 11, 0x45, 0x78, 0x69, 0x66, 0, 0, 1, 2, 3]
    expect([...insertJpegSegments(jpeg(), { exif })]).toEqual([0xff, 0xd8, ...added, ...rest])
    expect([...insertJpegSegments(jpeg(...jfif), { exif })]).toEqual([0xff, 0xd8, ...jfif, ...added, ...rest])
    expect([...insertJpegSegments(jpeg(), {})]).toEqual([...jpeg()])
  })

  it('carry a profile of any size in numbered chunks (ICC.1:2001-04, B.4)', () => {
    const icc = Uint8Array.from({ length: 150_000 }, (_, i) => i % 251)
    const out = insertJpegSegments(jpeg(), { icc })
    const found: number[] = []
    let at = 2
    for (let chunk = 1; chunk <= 3; chunk++) {
      expect([out[at], out[at + 1]]).toEqual([0xff, 0xe2])
      const length = out[at + 2]! * 256 + out[at + 3]!
      expect(String.fromCharCode(...out.subarray(at + 4, at + 15))).toBe('ICC_PROFILE')
      expect([out[at + 15], out[at + 16], out[at + 17]]).toEqual([0, chunk, 3])
      for (const b of out.subarray(at + 18, at + 2 + length)) found.push(b)
      at += 2 + length
    }
    expect(found).toEqual([...icc])
    expect([...out.subarray(at)]).toEqual(rest)
  })

  it('are refused by name when a block cannot fit or the file is no JPEG', () => {
    expect(() => insertJpegSegments(jpeg(), { exif: new Uint8Array(65528) })).toThrow('exif-too-large')
    expect(() => insertJpegSegments(Uint8Array.of(1, 2), {})).toThrow('not-jpeg')
  })
})
