import { malformed, overLimit } from '#core/base'

/** What to put into a finished JPEG file; null or absent: nothing. */
export interface JpegMetadata {
  /** TIFF-structured Exif block without the "Exif\0\0" prefix (Exif 2.32 section 4.7.2). */
  readonly exif?: Uint8Array | null
  readonly icc?: Uint8Array | null
  readonly xmp?: Uint8Array | null
  /** Complete bodies of further APP2 segments, each with its own identifying prefix, after the profile. */
  readonly app2?: readonly Uint8Array[]
}

/** A segment holds 65535 bytes with its two length bytes (ITU-T T.81 B.1.1.4). */
const MAX_BODY = 65533
const EXIF_PREFIX = [0x45, 0x78, 0x69, 0x66, 0, 0]
/** "ICC_PROFILE" and a zero; then the chunk's number from 1 and the count of chunks (ICC.1:2001-04 annex B.4). */
const ICC_PREFIX = [...'ICC_PROFILE'].map((c) => c.charCodeAt(0)).concat(0)

/** ISO 16684-3, 6.1: the name space and a zero, in APP1. */
const XMP_PREFIX = [...'http://ns.adobe.com/xap/1.0/'].map((c) => c.charCodeAt(0)).concat(0)

function segment(marker: number, prefix: readonly number[], body: Uint8Array): Uint8Array {
  const length = 2 + prefix.length + body.length
  const out = new Uint8Array(2 + length)
  out.set([0xff, marker, length >> 8, length & 255, ...prefix])
  out.set(body, 4 + prefix.length)
  return out
}

/** The metadata as APP1 and APP2 segments. @throws limit "exif-too-large", "xmp-too-large", "icc-too-large" */
function segmentsOf({ exif, icc, xmp, app2 }: JpegMetadata): Uint8Array[] {
  const out: Uint8Array[] = []
  if (exif) {
    const limit = MAX_BODY - EXIF_PREFIX.length
    if (exif.length > limit) throw overLimit('exif-too-large', { bytes: exif.length, limit })
    out.push(segment(0xe1, EXIF_PREFIX, exif))
  }
  if (xmp) {
    const limit = MAX_BODY - XMP_PREFIX.length
    if (xmp.length > limit) throw overLimit('xmp-too-large', { bytes: xmp.length, limit })
    out.push(segment(0xe1, XMP_PREFIX, xmp))
  }
  if (icc) {
    const room = MAX_BODY - ICC_PREFIX.length - 2
    const count = Math.ceil(icc.length / room)
    if (count > 255) throw overLimit('icc-too-large', { bytes: icc.length, limit: room * 255 })
    for (let i = 0; i < count; i++) {
      out.push(segment(0xe2, [...ICC_PREFIX, i + 1, count], icc.subarray(i * room, (i + 1) * room)))
    }
  }
  for (const body of app2 ?? []) out.push(segment(0xe2, [], body))
  return out
}

/**
 * The same JPEG with the metadata in it; the coded picture is not touched. The segments follow SOI, and the JFIF
 * segment where there is one, since JFIF wants to be first and Exif readers look further.
 * @throws malformed "not-jpeg"; limit "exif-too-large", "xmp-too-large", "icc-too-large"
 */
export function insertJpegSegments(jpeg: Uint8Array, metadata: JpegMetadata): Uint8Array {
  if (jpeg[0] !== 0xff || jpeg[1] !== 0xd8)
    throw malformed('not-jpeg', { found: (jpeg[0] ?? 0) * 256 + (jpeg[1] ?? 0) })
  const hasJfif = jpeg[2] === 0xff && jpeg[3] === 0xe0
  const at = hasJfif ? 4 + jpeg[4]! * 256 + jpeg[5]! : 2
  const added = segmentsOf(metadata)
  const out = new Uint8Array(jpeg.length + added.reduce((n, s) => n + s.length, 0))
  out.set(jpeg.subarray(0, at))
  let top = at
  for (const s of added) {
    out.set(s, top)
    top += s.length
  }
  out.set(jpeg.subarray(at), top)
  return out
}
