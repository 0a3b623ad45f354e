import { malformed } from '#core/base'
import { type GainMapMetadata, gainMapProperties, gainMapSegment, gainMapVersionSegment } from './gain-map.ts'
import { insertJpegSegments } from './jpeg-segments.ts'
import type { PictureMetadata } from './tiff-picture.ts'
import { writeXmp, type XmpToWrite } from './xmp-packet.ts'

const HDRGM = 'http://ns.adobe.com/hdr-gain-map/1.0/'
const CONTAINER = 'http://ns.google.com/photos/1.0/container/'
const ITEM = 'http://ns.google.com/photos/1.0/container/item/'

const MPF_PREFIX = [0x4d, 0x50, 0x46, 0]
const MPF_BYTES = MPF_PREFIX.length + 8 + 2 + 3 * 12 + 4 + 2 * 16

/**
 * Body of the multi-picture segment (CIPA DC-007): a TIFF structure with one index directory of two entries. The second
 * picture's place counts from the structure's own first byte.
 */
function mpfBody(primaryBytes: number, mapBytes: number, structureAt: number): Uint8Array {
  const out = new Uint8Array(MPF_BYTES)
  out.set(MPF_PREFIX)
  const view = new DataView(out.buffer, MPF_PREFIX.length)
  const entriesAt = 8 + 2 + 3 * 12 + 4
  view.setUint32(0, 0x4d4d002a)
  view.setUint32(4, 8)
  view.setUint16(8, 3)
  const field = (i: number, tag: number, type: number, count: number, value: number) => {
    view.setUint16(10 + i * 12, tag)
    view.setUint16(12 + i * 12, type)
    view.setUint32(14 + i * 12, count)
    view.setUint32(18 + i * 12, value)
  }
  field(0, 0xb000, 7, 4, 0x30313030)
  field(1, 0xb001, 4, 1, 2)
  field(2, 0xb002, 7, 32, entriesAt)
  // 5.2.3.3.1: the first is the baseline primary picture, a JPEG; the other's type is not one that the list has.
  view.setUint32(entriesAt, 0x030000)
  view.setUint32(entriesAt + 4, primaryBytes)
  view.setUint32(entriesAt + 20, mapBytes)
  view.setUint32(entriesAt + 24, primaryBytes - structureAt)
  return out
}

/** The directory of pictures in the primary picture's XMP: which there are and how long the map is. */
function primaryXmp(about: XmpToWrite, mapBytes: number): Uint8Array {
  const item = (semantic: string, length: string) =>
    `<rdf:li rdf:parseType="Resource"><Container:Item Item:Semantic="${semantic}" Item:Mime="image/jpeg"${length}/></rdf:li>`
  return writeXmp({
    ...about,
    namespaces: { hdrgm: HDRGM, Container: CONTAINER, Item: ITEM },
    attributes: { 'hdrgm:Version': '1.0' },
    elements: `<Container:Directory><rdf:Seq>${item('Primary', '')}${item('GainMap', ` Item:Length="${mapBytes}"`)}</rdf:Seq></Container:Directory>`,
  })
}

/**
 * A gain-map JPEG: the base picture, which every reader shows, and after its end the map. Metadata in both forms: the
 * segments of ISO 21496-1 and the older XMP properties; the second picture is named by CIPA DC-007's index and by the
 * XMP directory. `base` and `map` are plain JPEG streams.
 * @throws malformed "not-jpeg"; limit "exif-too-large", "xmp-too-large", "icc-too-large"
 */
export function writeGainMapJpeg(
  base: Uint8Array,
  map: Uint8Array,
  gains: GainMapMetadata,
  metadata: Omit<PictureMetadata, 'xmp'> & { readonly about: XmpToWrite },
): Uint8Array {
  const { attributes, elements } = gainMapProperties(gains)
  const second = insertJpegSegments(map, {
    xmp: writeXmp({ namespaces: { hdrgm: HDRGM }, attributes, elements }),
    app2: [gainMapSegment(gains)],
  })
  const parts = (mpf: Uint8Array) => ({
    exif: metadata.exif,
    xmp: primaryXmp(metadata.about, second.length),
    icc: metadata.icc,
    app2: [gainMapVersionSegment(), mpf],
  })
  const length = insertJpegSegments(base, parts(mpfBody(0, 0, 0))).length
  // The index is the last segment put in, right before what the encoder wrote after its own first segment.
  const probe = insertJpegSegments(base, parts(mpfBody(length, second.length, 0)))
  const structureAt = mpfAt(probe) + MPF_PREFIX.length
  const first = insertJpegSegments(base, parts(mpfBody(length, second.length, structureAt)))
  const out = new Uint8Array(first.length + second.length)
  out.set(first)
  out.set(second, first.length)
  return out
}

/** Where the body of the index segment begins. */
function mpfAt(jpeg: Uint8Array): number {
  for (let at = 2; at + 4 < jpeg.length && jpeg[at] === 0xff && jpeg[at + 1] !== 0xda; ) {
    if (jpeg[at + 1] === 0xe2 && MPF_PREFIX.every((b, i) => jpeg[at + 4 + i] === b)) return at + 4
    at += 2 + jpeg[at + 2]! * 256 + jpeg[at + 3]!
  }
  throw malformed('jpeg-segment', { found: 0 })
}
