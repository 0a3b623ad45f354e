import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { Failure } from '#core/base'
import { failureOf } from '../../../test/tiff-bytes.ts'
import { byteWindow } from './byte-window.ts'
import { readJpegContainer, readJpegFrame } from './jpeg-container.ts'
import { utf8Bytes } from './text.ts'

const segment = (marker: number, body: ArrayLike<number>) => [
  0xff,
  marker,
  (body.length + 2) >> 8,
  (body.length + 2) & 255,
  ...Array.from(body),
]
const frame = (marker: number, precision: number, height: number, width: number, components: number) =>
  segment(marker, [
    precision,
    height >> 8,
    height & 255,
    width >> 8,
    width & 255,
    components,
    ...new Array(3 * components).fill(1),
  ])
const scan = segment(0xda, [1, 1, 0, 0, 63, 0])
const jpeg = (...parts: number[][]) => Uint8Array.from([0xff, 0xd8, ...parts.flat(), ...scan, 0xff, 0xd9])

describe('a JPEG container', () => {
  const exif = [...utf8Bytes('Exif\0\0'), 0x4d, 0x4d, 0, 42]
  const xmp = [...utf8Bytes('http://ns.adobe.com/xap/1.0/\0<x/>')]

  it('gives the frame size, the Exif block and the XMP packet, whatever lies between', () => {
    const found = readJpegContainer(
      jpeg(
        segment(0xe0, [1, 2]),
        segment(0xe1, xmp),
        [0xff, 0xff],
        segment(0xe1, exif),
        segment(0xfe, [9]),
        frame(0xc2, 8, 3024, 4032, 3),
      ),
    )
    expect(found.frame).toEqual({ marker: 0xc2, precision: 8, height: 3024, width: 4032, components: 3 })
    expect([...found.exif!]).toEqual([0x4d, 0x4d, 0, 42])
    expect([...found.xmp!]).toEqual([...utf8Bytes('<x/>')])
  })

  it('finds the frame of a stream inside a larger file', () => {
    const stream = jpeg(segment(0xc4, [0, 1]), frame(0xc1, 12, 556, 1952, 1))
    const file = Uint8Array.from([...new Array(50).fill(7), ...stream])
    expect(readJpegFrame(byteWindow(file, true), 50)).toMatchObject({ marker: 0xc1, precision: 12, width: 1952 })
  })

  it('does not take a Huffman table or an arithmetic table for a frame', () => {
    expect(failureOf(() => readJpegContainer(jpeg(segment(0xc4, [0]), segment(0xcc, [0])))).code).toBe('jpeg-no-frame')
  })

  it('names what is wrong', () => {
    const code = (bytes: ArrayLike<number>) => failureOf(() => readJpegContainer(Uint8Array.from(bytes))).code
    expect(code([0x89, 0x50, 0x4e, 0x47])).toBe('not-jpeg')
    expect(code([0xff, 0xd8, 0x12, 0x34])).toBe('jpeg-marker')
    expect(code([0xff, 0xd8, 0xff, 0xe1, 0, 1])).toBe('jpeg-segment')
    expect(code([0xff, 0xd8, 0xff, 0xe1, 0xff, 0xff, 1])).toBe('outside-file')
    expect(code(jpeg(segment(0xc0, [8, 1])))).toBe('jpeg-segment')
    expect(code([0xff, 0xd8, ...new Array(5000).fill([0xff, 0x01]).flat()])).toBe('too-many-segments')
  })

  it('asks for more of the file where the head is too short', () => {
    const whole = jpeg(segment(0xe2, new Uint8Array(1000)), frame(0xc0, 8, 10, 10, 3))
    expect(failureOf(() => readJpegContainer(whole.subarray(0, 500), whole.length))).toMatchObject({
      code: 'beyond-head',
      facts: { neededBytes: 1006 },
    })
  })

  it('throws nothing but Failures on any bytes', () => {
    fc.assert(
      fc.property(fc.uint8Array({ maxLength: 200 }), (tail) => {
        try {
          readJpegContainer(Uint8Array.from([0xff, 0xd8, 0xff, ...tail]))
        } catch (error) {
          expect(error).toBeInstanceOf(Failure)
        }
      }),
      { numRuns: 2000, seed: 4 },
    )
  })
})
