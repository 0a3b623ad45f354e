import { malformed, overLimit } from '#core/base'
import { byteWindow } from './byte-window.ts'

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

/**
 * Walks the segments from SOI to the first scan: frame header, Exif and XMP. `bytes` may be the head of a stream of
 * `fileBytes`.
 * @throws malformed "not-jpeg", "jpeg-marker", "jpeg-segment", "jpeg-no-frame", "outside-file"; limit "too-many-segments", "beyond-head"
 */
export function readJpegContainer(bytes: Uint8Array, fileBytes = bytes.length): JpegContainer {
  const window = byteWindow(bytes, false, fileBytes)
  if (window.u16(0) !== 0xffd8) throw malformed('not-jpeg', { found: window.u16(0) })
  let frame: JpegFrame | null = null
  let exif: Uint8Array | null = null
  let xmp: Uint8Array | null = null
  let at = 2
  for (let segments = 0; ; segments++) {
    if (segments >= MAX_SEGMENTS) throw overLimit('too-many-segments', { limit: MAX_SEGMENTS })
    if (window.u8(at) !== 0xff) throw malformed('jpeg-marker', { offset: at, found: window.u8(at) })
    // Any number of 0xFF fill bytes may precede a marker (T.81 B.1.1.2).
    while (window.u8(at) === 0xff) at++
    const marker = window.u8(at++)
    if (marker === 0xda || marker === 0xd9) break
    if (marker === 0x01 || (marker >= 0xd0 && marker <= 0xd8)) continue
    if (marker === 0) throw malformed('jpeg-marker', { offset: at - 1, found: marker })
    const length = window.u16(at)
    if (length < 2) throw malformed('jpeg-segment', { offset: at, marker, found: length })
    const body = window.slice(at + 2, length - 2)
    if (isFrameMarker(marker)) {
      if (body.length < 6) throw malformed('jpeg-segment', { offset: at, marker, found: length })
      frame ??= {
        marker,
        precision: body[0]!,
        height: body[1]! * 256 + body[2]!,
        width: body[3]! * 256 + body[4]!,
        components: body[5]!,
      }
    } else if (marker === 0xe1 && exif === null && startsWith(body, EXIF)) exif = body.subarray(EXIF.length)
    else if (marker === 0xe1 && xmp === null && startsWith(body, XMP)) xmp = body.subarray(XMP.length)
    at += length
  }
  if (frame === null) throw malformed('jpeg-no-frame', { offset: at })
  return { frame, exif, xmp }
}
