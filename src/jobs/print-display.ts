import { profileNames } from '#core/formats'
import { decibels, exactly } from '#picture/export'
import type { Pixels8 } from './contract/index.ts'
import { AVIF_QUALITY, described, JPEG_QUALITY, LIBRARY, type Maker, sizeOf } from './print-made.ts'

/** An 8-bit JPEG; `copy` gets its pixels while they are encoded. */
export const jpegFile =
  (copy: ((pixels: Pixels8) => Promise<void>) | null): Maker =>
  async (source, { quality }) => {
    const { codec } = source.host
    const image = await source.pixels.eight()
    const { metadata, kept } = described(source, image, image.space)
    const pixels: Pixels8 = { ...image, channels: 3 }
    // Both are done with the pixels before the memory goes back, whichever fails.
    const coded = codec.encodeJpeg(pixels, quality ?? JPEG_QUALITY, metadata)
    const [jpeg, copied] = await Promise.allSettled([coded, copy?.(pixels) ?? Promise.resolve()])
    if (jpeg.status === 'rejected') throw jpeg.reason
    if (copied.status === 'rejected') throw copied.reason
    return {
      ...sizeOf(image),
      bytes: jpeg.value,
      profile: profileNames[image.space],
      kept,
      figures: {},
      reader: LIBRARY,
      check: async (found) => decibels(image.data, (await codec.decode(found)).data, 255),
    }
  }

/** 16 bits as they are. */
export const losslessFile =
  (format: 'tiff' | 'png'): Maker =>
  async (source) => {
    const { codec } = source.host
    const image = await source.pixels.sixteen()
    const { metadata, kept } = described(source, image, image.space)
    const bytes = await (format === 'tiff' ? codec.encodeTiff16(image, metadata) : codec.encodePng16(image, metadata))
    return {
      ...sizeOf(image),
      bytes,
      profile: profileNames[image.space],
      kept,
      figures: {},
      reader: LIBRARY,
      check: async (found) => exactly(image.data, (await codec.decode16(found)).data),
    }
  }

/** 10 bits, lossy. */
export const avifFile: Maker = async (source, { quality }) => {
  const { codec } = source.host
  const image = await source.pixels.sixteen()
  const { metadata, kept } = described(source, image, image.space)
  return {
    ...sizeOf(image),
    bytes: await codec.encodeAvif(image, quality ?? AVIF_QUALITY, image.space, metadata),
    profile: profileNames[image.space],
    kept,
    figures: {},
    reader: LIBRARY,
    check: async (found) => decibels(image.data, (await codec.decode16(found)).data, 65_535),
  }
}
