import type { ByteWindow } from './byte-window.ts'
import { childDirectories, readTiff, type TiffDirectory, type TiffField } from './tiff-directory.ts'
import { type FieldToWrite, type TiffTypeName, tiffType, writeTiff } from './tiff-writer.ts'

/** A 16-bit RGB picture: width × height × 3 samples, interleaved. */
export interface Picture16 {
  readonly width: number
  readonly height: number
  readonly data: Uint16Array
}

/** What a written picture carries besides its pixels; null or absent: nothing. */
export interface PictureMetadata {
  /** Complete TIFF-structured Exif block without the "Exif\0\0" prefix. */
  readonly exif: Uint8Array | null
  /** Profile of the space that the pixels are in; they are not converted. */
  readonly icc: Uint8Array
  readonly xmp?: Uint8Array | null
}

/** Tags that an Exif block's first directory shares with a TIFF picture: texts, resolution, orientation, rights. */
const SHARED_TAGS = [270, 271, 272, 274, 282, 283, 296, 305, 306, 315, 33432]
const STRIP_BYTES = 1 << 20

const typeName = (type: number) =>
  (Object.keys(tiffType) as TiffTypeName[]).find((name) => tiffType[name] === type) ?? 'undefined'

/** A field as it was written: rationals as their two integers. */
function copied(window: ByteWindow, field: TiffField): FieldToWrite {
  const name = typeName(field.type)
  const values: number[] = []
  const pairs = name === 'rational' || name === 'srational'
  for (let i = 0; i < field.count * (pairs ? 2 : 1); i++) {
    const at = field.valueOffset
    if (pairs || name === 'long' || name === 'slong') values.push(window.u32(at + i * 4))
    else if (name === 'short' || name === 'sshort') values.push(window.u16(at + i * 2))
    else values.push(window.u8(at + i))
  }
  return { tag: field.tag, type: name, values }
}

const copiedAll = (window: ByteWindow, directory: TiffDirectory, tags?: readonly number[]) =>
  [...directory.fields.values()].filter((f) => tags?.includes(f.tag) ?? true).map((f) => copied(window, f))

/**
 * A TIFF 6.0 file of a 16-bit RGB picture, uncompressed, little-endian, with the fields of an Exif block (no prefix)
 * and an ICC profile in it. The block is one that this project wrote; what a block throws when it is broken is what
 * `readTiff` throws.
 */
export function writeTiff16(picture: Picture16, metadata: PictureMetadata): Uint8Array {
  const { width, height, data } = picture
  const rows = Math.min(height, Math.max(1, Math.floor(STRIP_BYTES / (width * 6))))
  const bytes = new Uint8Array(data.buffer, data.byteOffset, width * height * 6)
  const segments: Uint8Array[] = []
  for (let y = 0; y < height; y += rows) {
    segments.push(bytes.subarray(y * width * 6, Math.min(y + rows, height) * width * 6))
  }
  const block = metadata.exif ? readTiff(metadata.exif) : null
  const top = block?.directories[0]
  const exifAt = top?.fields.get(34665)
  const exif =
    block && exifAt ? childDirectories(block, [block.window.u32(exifAt.valueOffset)], new Set()).directories : []
  const fields: FieldToWrite[] = [
    { tag: 254, type: 'long', values: [0] },
    { tag: 256, type: 'long', values: [width] },
    { tag: 257, type: 'long', values: [height] },
    { tag: 258, type: 'short', values: [16, 16, 16] },
    { tag: 259, type: 'short', values: [1] },
    { tag: 262, type: 'short', values: [2] },
    { tag: 277, type: 'short', values: [3] },
    { tag: 278, type: 'long', values: [rows] },
    { tag: 284, type: 'short', values: [1] },
    { tag: 339, type: 'short', values: [1, 1, 1] },
    { tag: 34675, type: 'undefined', values: metadata.icc },
    ...(metadata.xmp ? [{ tag: 700, type: 'byte' as const, values: metadata.xmp }] : []),
    ...(block && top ? copiedAll(block.window, top, SHARED_TAGS) : []),
  ]
  return writeTiff([
    {
      fields,
      ...(block && exif.length > 0
        ? { children: [{ tag: 34665, directories: exif.map((d) => ({ fields: copiedAll(block.window, d) })) }] }
        : {}),
      segments: { offsetsTag: 273, countsTag: 279, segments },
    },
  ])
}
