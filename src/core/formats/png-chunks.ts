import { zlibSync } from 'fflate'
import { malformed } from '#core/base'
import type { PictureMetadata } from './tiff-picture.ts'

const SIGNATURE = [0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a]

export const isPng = (bytes: Uint8Array): boolean => SIGNATURE.every((b, i) => bytes[i] === b)

/** A chunk of a PNG file (PNG specification, third edition, 5.3): four letters and its data, a view. */
export interface PngChunk {
  readonly name: string
  readonly data: Uint8Array
}

const ascii = (text: string): number[] => [...text].map((c) => c.charCodeAt(0))

/** CRC-32 of ISO 3309 as annex D of the specification computes it. */
const crcTable = Uint32Array.from({ length: 256 }, (_, n) => {
  let c = n
  for (let k = 0; k < 8; k++) c = c & 1 ? 0xedb88320 ^ (c >>> 1) : c >>> 1
  return c
})

function crc(bytes: Uint8Array): number {
  let c = 0xffffffff
  for (const b of bytes) c = crcTable[(c ^ b) & 255]! ^ (c >>> 8)
  return (c ^ 0xffffffff) >>> 0
}

function chunk(name: string, data: Uint8Array): Uint8Array {
  const out = new Uint8Array(12 + data.length)
  const view = new DataView(out.buffer)
  view.setUint32(0, data.length)
  out.set(ascii(name), 4)
  out.set(data, 8)
  view.setUint32(8 + data.length, crc(out.subarray(4, 8 + data.length)))
  return out
}

/** The chunks of a file up to and including IEND. @throws malformed "not-png", "png-chunk" */
export function pngChunks(bytes: Uint8Array): PngChunk[] {
  if (!isPng(bytes)) throw malformed('not-png', { bytes: bytes.length })
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength)
  const out: PngChunk[] = []
  for (let at = 8; ; ) {
    if (at + 12 > bytes.length) throw malformed('png-chunk', { offset: at })
    const length = view.getUint32(at)
    if (at + 12 + length > bytes.length) throw malformed('png-chunk', { offset: at })
    const name = String.fromCharCode(...bytes.subarray(at + 4, at + 8))
    out.push({ name, data: bytes.subarray(at + 8, at + 8 + length) })
    if (name === 'IEND') return out
    at += 12 + length
  }
}

const concat = (...parts: readonly (ArrayLike<number> & Iterable<number>)[]): Uint8Array => {
  const out = new Uint8Array(parts.reduce((n, p) => n + p.length, 0))
  let at = 0
  for (const p of parts) {
    out.set(p as ArrayLike<number>, at)
    at += p.length
  }
  return out
}

/** Critical chunks, which hold the picture; any other that an encoder added is left behind. */
const picture = new Set(['IHDR', 'PLTE', 'IDAT', 'IEND'])

/**
 * The same PNG with exactly this metadata: profile as iCCP (11.3.2.3), Exif as eXIf (11.3.4.5), XMP as iTXt
 * (11.3.3.4) under the keyword that ISO 16684-3 gives. @throws malformed "not-png", "png-chunk"
 */
export function withPngMetadata(png: Uint8Array, metadata: PictureMetadata): Uint8Array {
  const added = [
    chunk('iCCP', concat(ascii('icc'), [0, 0], zlibSync(metadata.icc))),
    ...(metadata.exif ? [chunk('eXIf', metadata.exif)] : []),
    ...(metadata.xmp ? [chunk('iTXt', concat(ascii('XML:com.adobe.xmp'), [0, 0, 0, 0, 0], metadata.xmp))] : []),
  ]
  const [head, ...rest] = pngChunks(png).filter((c) => picture.has(c.name))
  if (head?.name !== 'IHDR') throw malformed('png-chunk', { offset: 8 })
  return concat(SIGNATURE, chunk(head.name, head.data), ...added, ...rest.map((c) => chunk(c.name, c.data)))
}
