import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { Failure } from '#core/base'
import { codePoints, heifItems, heifProperties, readAvif, writeAvif } from './avif.ts'

const picture = {
  coded: Uint8Array.from({ length: 50 }, (_, i) => i),
  configuration: Uint8Array.of(0x81, 0x20, 0x42, 0),
  width: 300,
  height: 200,
  bitsPerSample: 10,
}
const metadata = { exif: Uint8Array.of(1, 2, 3), icc: Uint8Array.of(9, 9), xmp: Uint8Array.of(60, 62) }

describe('an AVIF file', () => {
  it('has the picture, its size and depth, and exactly the metadata that was given', () => {
    const bytes = writeAvif(picture, codePoints('display-p3'), metadata)
    expect(readAvif(bytes)).toEqual(picture)
    expect(heifItems(bytes).map((i) => [i.kind, i.contentType, [...i.bytes.slice(0, 7)]])).toEqual([
      ['av01', null, [0, 1, 2, 3, 4, 5, 6]],
      // ISO/IEC 23008-12 annex A.2.1: where the TIFF header begins, then the block.
      ['Exif', null, [0, 0, 0, 0, 1, 2, 3]],
      ['mime', 'application/rdf+xml', [60, 62]],
    ])
    const colours = heifProperties(bytes).filter((p) => p.name === 'colr')
    // ITU-T H.273: P3-D65 primaries 12, the curve of IEC 61966-2-1 13, the matrix of BT.601 6; full range.
    expect(Buffer.from(colours[0]!.content).toString('hex')).toBe('6e636c78000c000d000680')
    expect(Buffer.from(colours[1]!.content).toString('hex')).toBe('70726f660909')
  })

  it('without Exif and XMP holds one item, and every byte is accounted for', () => {
    const bytes = writeAvif(picture, codePoints('srgb'), { exif: null, icc: metadata.icc })
    expect(heifItems(bytes).map((i) => i.id)).toEqual([1])
    const [item] = heifItems(bytes)
    expect(item!.bytes.byteOffset + item!.bytes.length).toBe(bytes.length)
  })

  it('that is cut or overwritten anywhere is refused by name and never anything else', () => {
    const bytes = writeAvif(picture, codePoints('srgb'), metadata)
    const readable = (some: Uint8Array) => {
      try {
        readAvif(some)
      } catch (error) {
        expect(error).toBeInstanceOf(Failure)
        expect(['heif-box', 'heif-lacks']).toContain((error as Failure).code)
      }
    }
    for (let n = 0; n < bytes.length; n++) readable(bytes.slice(0, n))
    fc.assert(
      fc.property(fc.nat(bytes.length - 1), fc.uint8Array({ maxLength: 12 }), (at, noise) => {
        const spoilt = Uint8Array.from(bytes)
        spoilt.set(noise.subarray(0, spoilt.length - at), at)
        readable(spoilt)
      }),
      { numRuns: 500 },
    )
  })
})
