import sharp from 'sharp'
import { describe, expect, it } from 'vitest'
import { readJpegContainer, readTiff, srgbProfile } from '#core/formats'
import { exifBlock, noFacts } from '#picture/export'
import { createCodec } from './codec.ts'

const codec = createCodec()
const width = 160
const height = 90
const facts = { ...noFacts, exposureSeconds: 0.5, iso: 200, takenAtCamera: '2027-02-09T17:31:05' }
const metadata = { exif: exifBlock(facts, { width, height, software: 'Duskwork' }).bytes, icc: srgbProfile() }
/** Smooth colours, so that JPEG is nearly exact; in shared memory, as prints are. */
const data = new Uint8Array(new SharedArrayBuffer(width * height * 3)).map((_, i) => {
  const x = Math.floor(i / 3) % width
  const y = Math.floor(i / 3 / width)
  return Math.round([60 + x, 200 - y, 40 + (x + y) / 2][i % 3]!)
})

describe('a JPEG print', () => {
  it('is read by another library: size, upright, the profile byte for byte, Exif, whole colour', async () => {
    const jpeg = await codec.encodeJpeg({ width, height, channels: 3, data }, 92, metadata)
    const found = await sharp(jpeg).metadata()
    expect([found.width, found.height, found.orientation, found.chromaSubsampling]).toEqual([width, height, 1, '4:4:4'])
    expect(Buffer.compare(found.icc!, Buffer.from(srgbProfile()))).toBe(0)
    expect(Buffer.compare(found.exif!.subarray(6), Buffer.from(metadata.exif))).toBe(0)
    expect(found.xmp).toBeUndefined()
    expect(readTiff(readJpegContainer(jpeg).exif!).directories[0]!.fields.has(34853)).toBe(false)
    expect(await codec.probe(jpeg)).toEqual({
      width,
      height,
      format: 'jpeg',
      hasProfile: true,
      hasExif: true,
      hasXmp: false,
    })
  })

  it('has the pixels it was given, unconverted: within 4 codes of them everywhere', async () => {
    const jpeg = await codec.encodeJpeg({ width, height, channels: 3, data }, 92, metadata)
    const back = await codec.decode(jpeg)
    expect([back.width, back.height, back.channels]).toEqual([width, height, 3])
    let worst = 0
    back.data.forEach((v, i) => {
      worst = Math.max(worst, Math.abs(v - data[i]!))
    })
    console.log(`JPEG, quality 92: worst difference ${worst} codes`)
    expect(worst).toBeLessThanOrEqual(4)
  })

  it('is the same, byte for byte, when it is made again', async () => {
    const make = () => codec.encodeJpeg({ width, height, channels: 3, data }, 92, metadata)
    expect(Buffer.compare(await make(), await make())).toBe(0)
  })
})

describe('a 16-bit TIFF print', () => {
  it('is read by another library: every sample to the bit, the profile, upright', async () => {
    const samples = Uint16Array.from({ length: width * height * 3 }, (_, i) => (i * 7919) & 65535)
    const tiff = await codec.encodeTiff16({ width, height, data: samples }, metadata)
    const found = await sharp(tiff).metadata()
    expect([found.width, found.height, found.depth, found.channels]).toEqual([width, height, 'ushort', 3])
    expect(Buffer.compare(found.icc!, Buffer.from(srgbProfile()))).toBe(0)
    const raw = await sharp(tiff, { ignoreIcc: true }).toColourspace('rgb16').raw({ depth: 'ushort' }).toBuffer()
    expect(Buffer.compare(raw, Buffer.from(samples.buffer))).toBe(0)
    const { directories, window } = readTiff(tiff)
    const exif = directories[0]!.fields.get(34665)!
    expect(window.u16(window.u32(exif.valueOffset))).toBeGreaterThan(3)
    expect(directories[0]!.fields.has(34853)).toBe(false)
  })
})

describe('decoding', () => {
  it('neither turns the picture by its orientation nor converts it by its profile', async () => {
    const turned = await sharp(Buffer.from(data), { raw: { width, height, channels: 3 } })
      .withMetadata({ orientation: 6 })
      .withIccProfile('p3', { attach: true })
      .png()
      .toBuffer()
    const stored = await sharp(turned, { ignoreIcc: true }).raw().toBuffer()
    const back = await codec.decode(turned)
    expect([back.width, back.height]).toEqual([width, height])
    expect(Buffer.compare(back.data, stored)).toBe(0)
  })

  it('of cut or foreign bytes fails by name', async () => {
    const jpeg = await codec.encodeJpeg({ width, height, channels: 3, data }, 92, metadata)
    for (const bytes of [jpeg.subarray(0, 4000), new Uint8Array(64), new Uint8Array(0)]) {
      await expect(codec.decode(bytes)).rejects.toMatchObject({ kind: 'malformed', code: 'picture-undecodable' })
    }
  })
})

describe('reduction', () => {
  it('keeps the mean of every channel to one code and the shape of the picture', async () => {
    const small = await codec.reduce({ width, height, channels: 3, data }, 32)
    expect([small.width, small.height, small.channels]).toEqual([32, 18, 3])
    const mean = (d: Uint8Array, c: number) => {
      let sum = 0
      for (let i = c; i < d.length; i += 3) sum += d[i]!
      return (sum * 3) / d.length
    }
    for (const c of [0, 1, 2]) expect(Math.abs(mean(small.data, c) - mean(data, c))).toBeLessThan(1)
  })

  it('leaves a picture that is small enough as it is', async () => {
    const same = await codec.reduce({ width, height, channels: 3, data }, 1000)
    expect(Buffer.compare(same.data, Buffer.from(data))).toBe(0)
  })
})
