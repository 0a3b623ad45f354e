import sharp from 'sharp'
import { describe, expect, it } from 'vitest'
import { decodeSrgb } from '#core/colour'
import { writeGainMapJpeg } from './gain-map-jpeg.ts'
import { srgbProfile } from './icc.ts'

const [width, height] = [64, 48]
const stops = 2
const gains = {
  channels: [{ min: 0, max: stops, gamma: 1, baseOffset: 1 / 64, alternateOffset: 1 / 64 }],
  baseHeadroom: 0,
  alternateHeadroom: stops,
}
const grey = (x: number) => 40 + 3 * x
const base = () => {
  const data = Uint8Array.from({ length: width * height * 3 }, (_, i) => grey(Math.floor(i / 3) % width))
  return sharp(data, { raw: { width, height, channels: 3 } })
    .jpeg({ quality: 100, chromaSubsampling: '4:4:4' })
    .toBuffer()
}
const map = () => {
  const data = Uint8Array.from({ length: width * height }, (_, i) => 4 * (i % width))
  return sharp(data, { raw: { width, height, channels: 1 } })
    .toColourspace('b-w')
    .jpeg({ quality: 100 })
    .toBuffer()
}

describe('a gain-map JPEG with one channel', () => {
  it('is rebuilt by a library of another make: its light is the formula’s within 1.5 % of it', async () => {
    const bytes = writeGainMapJpeg(await base(), await map(), gains, { exif: null, icc: srgbProfile(), about: {} })
    // Newer than the library's own types.
    const picture = sharp(bytes) as unknown as { withGainMap(): ReturnType<typeof sharp> }
    const { data, info } = await picture.withGainMap().raw({ depth: 'float' }).toBuffer({ resolveWithObject: true })
    expect([info.width, info.height, info.channels]).toEqual([width, height, 3])
    const light = new Float32Array(data.buffer.slice(data.byteOffset, data.byteOffset + data.length))
    let worst = 0
    light.forEach((found, i) => {
      const x = Math.floor(i / 3) % width
      const wanted = (decodeSrgb(grey(x) / 255) + 1 / 64) * 2 ** ((stops * 4 * x) / 255) - 1 / 64
      worst = Math.max(worst, Math.abs(found - wanted) / (wanted + 1 / 64))
    })
    console.log(`one channel, by another library: worst ${(100 * worst).toFixed(2)} % of light`)
    expect(worst).toBeLessThan(0.015)
  })

  it('shows the base where gain maps are not known, and ends where the map ends', async () => {
    const first = await base()
    const bytes = writeGainMapJpeg(first, await map(), gains, { exif: null, icc: srgbProfile(), about: {} })
    const decoded = async (jpeg: Uint8Array) => sharp(jpeg, { ignoreIcc: true }).raw().toBuffer()
    expect((await decoded(bytes)).equals(await decoded(first))).toBe(true)
    expect([bytes.at(-2), bytes.at(-1)]).toEqual([0xff, 0xd9])
  })
})
