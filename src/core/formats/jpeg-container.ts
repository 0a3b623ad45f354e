import { malformed, overLimit } from '#core/base'
import { type ByteWindow, byteWindow } from './byte-window.ts'

/** The frame header of a JPEG stream (ITU-T T.81 B.2.2). */
export interface JpegFrame {
  /** 0xC0 … 0xCF: 0xC0 baseline, 0xC1 extended, 0xC2 progressive, 0xC3 lossless, 0xC9 and up arithmetic. */
  readonly marker: number
  readonly precision: number
  /** 0 when the stream states it only after the first scan (T.81 B.2.5). */
  readonly height: number
  readonly width: number
  readonly components: number
}

export interface JpegContainer {
  readonly frame: JpegFrame
  /** The TIFF structure of the first Exif segment, without its "Exif\0\0" prefix. */
  readonly exif: Uint8Array | null
  /** The packet of the first XMP segment, without its prefix. */
  readonly xmp: Uint8Array | null
}

const MAX_SEGMENTS = 4096
const EXIF = [0x45, 0x78, 0x69, 0x66, 0, 0]
const XMP = [...'http://ns.adobe.com/xap/1.0/'].map((c) => c.charCodeAt(0)).concat(0)

const startsWith = (bytes: Uint8Array, prefix: readonly number[]) => prefix.every((b, i) => bytes[i] === b)

/** SOF0–SOF15 without DHT (C4), JPG (C8) and DAC (CC). */
export const isFrameMarker = (m: number) => m >= 0xc0 && m <= 0xcf && m !== 0xc4 && m !== 0xc8 && m !== 0xcc

export const isJpeg = (bytes: Uint8Array) => bytes[0] === 0xff && bytes[1] === 0xd8 && bytes[2] === 0xff

/** The marker segments of a stream from its SOI at `start` up to the first scan. */
function* segments(window: ByteWindow, start: number): Generator<{ marker: number; body: Uint8Array }> {
  if (window.u16(start) !== 0xffd8) throw malformed('not-jpeg', { offset: start, found: window.u16(start) })
  let at = start + 2
  for (let count = 0; ; count++) {
    if (count >= MAX_SEGMENTS) throw overLimit('too-many-segments', { limit: MAX_SEGMENTS })
    if (window.u8(at) !== 0xff) throw malformed('jpeg-marker', { offset: at, found: window.u8(at) })
    // Any number of 0xFF fill bytes may precede a marker (T.81 B.1.1.2).
    while (window.u8(at) === 0xff) at++
    const marker = window.u8(at++)
    if (marker === 0xda || marker === 0xd9) return
    if (marker === 0x01 || (marker >= 0xd0 && marker <= 0xd8)) continue
    if (marker === 0) throw malformed('jpeg-marker', { offset: at - 1, found: marker })
    const length = window.u16(at)
    if (length < 2) throw malformed('jpeg-segment', { offset: at, marker, found: length })
    yield { marker, body: window.slice(at + 2, length - 2) }
    at += length
  }
}

function frameFrom(marker: number, body: Uint8Array): JpegFrame {
  if (body.length < 6) throw malformed('jpeg-segment', { marker, found: body.length + 2 })
  return {
    marker,
    precision: body[0]!,
    height: body[1]! * 256 + body[2]!,
    width: body[3]! * 256 + body[4]!,
    components: body[5]!,
  }
}

/**
 * The frame header of the JPEG stream that starts at `start` inside a larger file.
 * @throws malformed "not-jpeg", "jpeg-marker", "jpeg-segment", "jpeg-no-frame", "outside-file"; limit "too-many-segments", "beyond-head"
 */
export function readJpegFrame(window: ByteWindow, start: number): JpegFrame {
  // JPEG is big-endian, whatever the file around it is.
  const bigEndian = byteWindow(window.bytes, false, window.fileBytes)
  for (const { marker, body } of segments(bigEndian, start)) if (isFrameMarker(marker)) return frameFrom(marker, body)
  throw malformed('jpeg-no-frame', { offset: start })
}

/**
 * Walks a JPEG file from SOI to the first scan: frame header, Exif and XMP. `bytes` may be the head of a file of
 * `fileBytes`. Throws what `readJpegFrame` throws.
 */
export function readJpegContainer(bytes: Uint8Array, fileBytes = bytes.length): JpegContainer {
  let frame: JpegFrame | null = null
  let exif: Uint8Array | null = null
  let xmp: Uint8Array | null = null
  for (const { marker, body } of segments(byteWindow(bytes, false, fileBytes), 0)) {
    if (isFrameMarker(marker)) frame ??= frameFrom(marker, body)
    else if (marker === 0xe1 && exif === null && startsWith(body, EXIF)) exif = body.subarray(EXIF.length)
    else if (marker === 0xe1 && xmp === null && startsWith(body, XMP)) xmp = body.subarray(XMP.length)
  }
  if (frame === null) throw malformed('jpeg-no-frame', { offset: 0 })
  return { frame, exif, xmp }
}
