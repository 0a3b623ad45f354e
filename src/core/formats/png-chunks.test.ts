import fc from 'fast-check'
import sharp from 'sharp'
import { describe, expect, it } from 'vitest'
import { Failure } from '#core/base'
import { srgbProfile } from './icc.ts'
import { isPng, pngChunks, withPngMetadata } from './png-chunks.ts'
import { writeTiff } from './tiff-writer.ts'
import { writeXmp } from './xmp-packet.ts'

const bare = async () => {
  const data = Uint8Array.from({ length: 30 * 20 * 3 }, (_, i) => (i * 7) % 256)
  const raw = { width: 30, height: 20, channels: 3 as const }
  return { data, png: new Uint8Array(await sharp(data, { raw }).withMetadata({ density: 300 }).png().toBuffer()) }
}
const exif = writeTiff([{ fields: [{ tag: 305, type: 'ascii', text: 'x' }] }])

describe('a PNG file', () => {
  it('keeps its picture and gets exactly the metadata given, which another reader finds', async () => {
    const { data, png } = await bare()
    const xmp = writeXmp({ creator: 'Åsa' })
    const made = withPngMetadata(png, { exif, icc: srgbProfile(), xmp })
    expect(isPng(made)).toBe(true)
    const names = pngChunks(made).map((c) => c.name)
    expect(names.filter((n) => n !== 'IDAT')).toEqual(['IHDR', 'iCCP', 'eXIf', 'iTXt', 'IEND'])
    const found = await sharp(made).metadata()
    expect(Buffer.from(found.exif!).includes(Buffer.from(exif))).toBe(true)
    expect(Buffer.from(srgbProfile()).equals(found.icc!)).toBe(true)
    expect(found.xmpAsString).toContain('Åsa')
    expect(new Uint8Array(await sharp(made, { ignoreIcc: true }).raw().toBuffer())).toEqual(data)
  })

  it('that is cut anywhere, or is none, is refused by name', async () => {
    const { png } = await bare()
    fc.assert(
      fc.property(fc.nat(png.length - 1), (n) => {
        try {
          pngChunks(png.subarray(0, n))
          expect.unreachable()
        } catch (error) {
          expect(error).toBeInstanceOf(Failure)
        }
      }),
    )
    expect(() => withPngMetadata(Uint8Array.of(1, 2, 3), { exif: null, icc: srgbProfile() })).toThrow(Failure)
  })
})
