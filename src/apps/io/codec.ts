import { createRequire } from 'node:module'
import type Sharp from 'sharp'
import { Failure, malformed, overLimit } from '#core/base'
import { codePoints, insertJpegSegments, readAvif, withPngMetadata, writeAvif, writeTiff16 } from '#core/formats'
import type { Codec, Pixels8, Pixels16 } from '#jobs/contract'

/** Largest picture that is decoded: 400 megapixels, 1.2 GB as 8-bit RGB. */
const MAX_PIXELS = 400_000_000

let loading: ReturnType<typeof load> | null = null

/** By its older kind of modules: Node finds and links the dozen newer ones twice as slowly (40 ms against 90). */
async function load(): Promise<typeof Sharp> {
  const sharp = createRequire(import.meta.url)('sharp') as typeof Sharp
  // Nothing is asked for twice here, and a cache of decoded pictures is memory that merging needs.
  sharp.cache(false)
  return sharp
}

/** The library, loaded when first asked for: it would take a quarter of the start, and half the verbs never use it. */
export function codecLibrary(): ReturnType<typeof load> {
  loading ??= load()
  return loading
}

/** A view without a copy; the library reads shared memory too. */
const viewOf = (data: Uint8Array | Uint16Array) => Buffer.from(data.buffer, data.byteOffset, data.byteLength)

const rawInput = (p: Pixels8) => ({
  raw: { width: p.width, height: p.height, channels: p.channels },
  limitInputPixels: MAX_PIXELS,
})

/** 16-bit samples, which the library would else take for light: it is told that they are codes of a display space. */
async function codes16(p: Pixels16) {
  const sharp = await codecLibrary()
  const { width, height } = p
  const bytes = p.data.buffer instanceof SharedArrayBuffer ? Uint16Array.from(p.data) : p.data
  return sharp(bytes, { raw: { width, height, channels: 3 }, limitInputPixels: MAX_PIXELS }).toColourspace('rgb16')
}

/** The library's message as a failure: what it cannot read is malformed, what is over the limit says so. */
function codecFailure(error: unknown, code: string): Failure {
  const message = error instanceof Error ? error.message : String(error)
  if (/pixel limit/i.test(message)) return overLimit('picture-size', { limit: MAX_PIXELS })
  return new Failure('malformed', code, { message: message.split('\n')[0]! }, error)
}

async function attempt<T>(code: string, work: () => Promise<T>): Promise<T> {
  try {
    return await work()
  } catch (error) {
    throw error instanceof Failure ? error : codecFailure(error, code)
  }
}

/** The bytes in a buffer that begins with them: small ones stand in the middle of a shared pool. */
const ownBytes = (data: Buffer): ArrayBuffer =>
  data.buffer.slice(data.byteOffset, data.byteOffset + data.byteLength) as ArrayBuffer

function checkSize(pixels: { width: number; height: number }, samples: number, channels: number): void {
  if (samples !== pixels.width * pixels.height * channels)
    throw malformed('picture-samples', { expected: pixels.width * pixels.height * channels, found: samples })
}

async function decode(bytes: Uint8Array): Promise<Pixels8> {
  const sharp = await codecLibrary()
  try {
    const { data, info } = await sharp(viewOf(bytes), {
      limitInputPixels: MAX_PIXELS,
      failOn: 'error',
      // Samples as stored: an embedded profile is the caller's business.
      ignoreIcc: true,
      sequentialRead: true,
    })
      .removeAlpha()
      .raw({ depth: 'uchar' })
      .toBuffer({ resolveWithObject: true })
    if (info.channels !== 1 && info.channels !== 3)
      throw new Failure('unsupported', 'picture-channels', { found: info.channels })
    return {
      width: info.width,
      height: info.height,
      channels: info.channels,
      data: new Uint8Array(data.buffer, data.byteOffset, data.byteLength),
    }
  } catch (error) {
    throw error instanceof Failure ? error : codecFailure(error, 'picture-undecodable')
  }
}

async function bareJpeg(pixels: Pixels8, quality: number): Promise<Uint8Array> {
  checkSize(pixels, pixels.data.length, pixels.channels)
  const sharp = await codecLibrary()
  // Small saturated lamps suffer most from halved colour, so colour is kept whole (4:4:4). Optimised Huffman
  // tables would save 5 % of the bytes and cost four times the time and memory.
  return attempt('picture-not-encodable', () =>
    sharp(viewOf(pixels.data), rawInput(pixels))
      .jpeg({ quality, chromaSubsampling: '4:4:4', optimiseCoding: false })
      .toBuffer(),
  )
}

/** Pictures in and out through a general-purpose library; everything it must not touch is spliced in by ourselves. */
export function createCodec(): Codec {
  return {
    decode,

    async encodeJpeg(pixels, quality, metadata) {
      return insertJpegSegments(await bareJpeg(pixels, quality), metadata)
    },

    encodeBareJpeg: bareJpeg,

    async encodeTiff16(pixels, metadata) {
      checkSize(pixels, pixels.data.length, 3)
      return writeTiff16(pixels, metadata)
    },

    async encodePng16(pixels, metadata) {
      checkSize(pixels, pixels.data.length, 3)
      const png = await attempt('picture-not-encodable', async () => (await codes16(pixels)).png().toBuffer())
      return withPngMetadata(png, metadata)
    },

    async encodeAvif(pixels, quality, primaries, metadata) {
      checkSize(pixels, pixels.data.length, 3)
      const avif = await attempt('picture-not-encodable', async () =>
        (await codes16(pixels)).avif({ quality, bitdepth: 10, chromaSubsampling: '4:4:4', effort: 3 }).toBuffer(),
      )
      return writeAvif(readAvif(avif), codePoints(primaries), metadata)
    },

    async decode16(bytes) {
      const sharp = await codecLibrary()
      const { data, info } = await attempt('picture-undecodable', () =>
        sharp(viewOf(bytes), { limitInputPixels: MAX_PIXELS, failOn: 'error', ignoreIcc: true })
          .removeAlpha()
          .toColourspace('rgb16')
          .raw({ depth: 'ushort' })
          .toBuffer({ resolveWithObject: true }),
      )
      return { width: info.width, height: info.height, data: new Uint16Array(ownBytes(data)) }
    },

    async gainMapIn(bytes) {
      const sharp = await codecLibrary()
      const picture = sharp(viewOf(bytes), { limitInputPixels: MAX_PIXELS })
      const found = await attempt('picture-unreadable', () => picture.metadata())
      // Newer than the library's own types.
      return (found as { gainMap?: { image: Buffer } }).gainMap?.image ?? null
    },

    async reduce(pixels, longSide) {
      checkSize(pixels, pixels.data.length, pixels.channels)
      const sharp = await codecLibrary()
      const { data, info } = await sharp(viewOf(pixels.data), rawInput(pixels))
        .resize({ width: longSide, height: longSide, fit: 'inside', withoutEnlargement: true, kernel: 'linear' })
        .raw({ depth: 'uchar' })
        .toBuffer({ resolveWithObject: true })
      return {
        width: info.width,
        height: info.height,
        channels: pixels.channels,
        data: new Uint8Array(data.buffer, data.byteOffset, data.byteLength),
      }
    },

    async probe(bytes) {
      const sharp = await codecLibrary()
      try {
        const found = await sharp(viewOf(bytes), { limitInputPixels: MAX_PIXELS }).metadata()
        return {
          width: found.width,
          height: found.height,
          format: found.format,
          hasProfile: found.icc !== undefined,
          hasExif: found.exif !== undefined,
          hasXmp: found.xmp !== undefined,
        }
      } catch (error) {
        throw codecFailure(error, 'picture-unreadable')
      }
    },
  }
}
