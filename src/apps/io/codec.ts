import { createRequire } from 'node:module'
import type Sharp from 'sharp'
import { Failure, malformed, overLimit } from '#core/base'
import { insertJpegSegments, writeTiff16 } from '#core/formats'
import type { Codec, Pixels8 } from '#jobs/contract'

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
const viewOf = (data: Uint8Array) => Buffer.from(data.buffer, data.byteOffset, data.byteLength)

const rawInput = (p: Pixels8) => ({
  raw: { width: p.width, height: p.height, channels: p.channels },
  limitInputPixels: MAX_PIXELS,
})

/** The library's message as a failure: what it cannot read is malformed, what is over the limit says so. */
function codecFailure(error: unknown, code: string): Failure {
  const message = error instanceof Error ? error.message : String(error)
  if (/pixel limit/i.test(message)) return overLimit('picture-size', { limit: MAX_PIXELS })
  return new Failure('malformed', code, { message: message.split('\n')[0]! }, error)
}

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

/** Pictures in and out through a general-purpose library; everything it must not touch is spliced in by ourselves. */
export function createCodec(): Codec {
  return {
    decode,

    async encodeJpeg(pixels, quality, metadata) {
      checkSize(pixels, pixels.data.length, pixels.channels)
      const sharp = await codecLibrary()
      try {
        // Small saturated lamps suffer most from halved colour, so colour is kept whole (4:4:4). Optimised Huffman
        // tables would save 5 % of the bytes and cost four times the time and memory.
        const jpeg = await sharp(viewOf(pixels.data), rawInput(pixels))
          .jpeg({ quality, chromaSubsampling: '4:4:4', optimiseCoding: false })
          .toBuffer()
        return insertJpegSegments(jpeg, metadata)
      } catch (error) {
        throw error instanceof Failure ? error : codecFailure(error, 'picture-not-encodable')
      }
    },

    async encodeTiff16(pixels, metadata) {
      checkSize(pixels, pixels.data.length, 3)
      return writeTiff16(pixels, metadata)
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
