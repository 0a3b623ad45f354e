import { zlibSync } from 'fflate'
import { encodeLosslessJpeg } from './lossless-jpeg-encoder.ts'

/**
 * How a mosaic is stored: `words` 16-bit samples in strips; `packed` bitsPerSample bits a sample in strips, big-endian
 * bits whatever the file's byte order (TIFF 6.0 FillOrder 1), each row filled up to a byte; `lossless-jpeg` tiles of two
 * components and half width (DNG 1.6 chapter 3); `deflate` tiles of 16-bit samples, with horizontal differences.
 */
export type DngPacking =
  | { readonly kind: 'words' }
  | { readonly kind: 'packed' }
  | { readonly kind: 'lossless-jpeg'; readonly tile: number; readonly predictor?: number }
  | { readonly kind: 'deflate'; readonly tile: number }

export interface MosaicToPack {
  readonly width: number
  readonly height: number
  readonly samples: Uint16Array
  readonly bitsPerSample: number
  readonly littleEndian: boolean
}

/** Rows in a strip of the unpacked kinds. */
export const STRIP_ROWS = 64

export const tilesAcross = (width: number, tile: number) => Math.ceil(width / tile)

/** How many strips or tiles a mosaic makes. */
export const segmentCount = (width: number, height: number, packing: DngPacking): number =>
  packing.kind === 'words' || packing.kind === 'packed'
    ? Math.ceil(height / STRIP_ROWS)
    : tilesAcross(width, packing.tile) * Math.ceil(height / packing.tile)

function wordStrip(m: MosaicToPack, top: number, rows: number): Uint8Array {
  const out = new Uint8Array(rows * m.width * 2)
  const view = new DataView(out.buffer)
  const from = top * m.width
  for (let i = 0; i < rows * m.width; i++) view.setUint16(i * 2, m.samples[from + i]!, m.littleEndian)
  return out
}

function packedStrip(m: MosaicToPack, top: number, rows: number): Uint8Array {
  const rowBytes = Math.ceil((m.width * m.bitsPerSample) / 8)
  const out = new Uint8Array(rows * rowBytes)
  for (let r = 0; r < rows; r++) {
    let to = r * rowBytes
    let held = 0
    let bits = 0
    for (let x = 0; x < m.width; x++) {
      held = (held << m.bitsPerSample) | m.samples[(top + r) * m.width + x]!
      bits += m.bitsPerSample
      while (bits >= 8) {
        bits -= 8
        out[to++] = held >>> bits
      }
      held &= (1 << bits) - 1
    }
    if (bits > 0) out[to] = held << (8 - bits)
  }
  return out
}

/** A full-size tile; past the picture's edge the last two columns and rows are repeated, which keeps the pattern. */
function tileSamples(m: MosaicToPack, tile: number, index: number): Uint16Array {
  const left = (index % tilesAcross(m.width, tile)) * tile
  const top = Math.floor(index / tilesAcross(m.width, tile)) * tile
  const inside = (at: number, size: number) => (at < size ? at : size - 2 + ((at - size) & 1))
  const out = new Uint16Array(tile * tile)
  const whole = Math.min(tile, m.width - left)
  for (let r = 0; r < tile; r++) {
    const from = inside(top + r, m.height) * m.width
    out.set(m.samples.subarray(from + left, from + left + whole), r * tile)
    for (let x = whole; x < tile; x++) out[r * tile + x] = m.samples[from + inside(left + x, m.width)]!
  }
  return out
}

function deflateTile(m: MosaicToPack, tile: number, index: number): Uint8Array {
  const samples = tileSamples(m, tile, index)
  const bytes = new Uint8Array(samples.length * 2)
  const view = new DataView(bytes.buffer)
  for (let i = 0; i < samples.length; i++) {
    // TIFF Predictor 2: the difference to the left neighbour of the same row, modulo 2^16.
    const left = i % tile === 0 ? 0 : samples[i - 1]!
    view.setUint16(i * 2, samples[i]! - left, m.littleEndian)
  }
  return zlibSync(bytes, { level: 3 })
}

/** The bytes of one strip or tile. */
export function packSegment(m: MosaicToPack, packing: DngPacking, index: number): Uint8Array {
  if (packing.kind === 'lossless-jpeg') {
    const samples = tileSamples(m, packing.tile, index)
    return encodeLosslessJpeg(samples, packing.tile / 2, packing.tile, 2, m.bitsPerSample, packing.predictor ?? 1)
  }
  if (packing.kind === 'deflate') return deflateTile(m, packing.tile, index)
  const top = index * STRIP_ROWS
  const rows = Math.min(STRIP_ROWS, m.height - top)
  return packing.kind === 'words' ? wordStrip(m, top, rows) : packedStrip(m, top, rows)
}
