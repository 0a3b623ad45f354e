import { malformed, overLimit, unsupported } from '#core/base'
import type { Chromaticities } from './exr-write.ts'
import { inflateBounded } from './inflate.ts'

/** A channel as read: halves keep their 16 bits, floats and 32-bit counts are as stored. */
export interface ExrChannel {
  readonly name: string
  readonly type: 'half' | 'float' | 'uint'
  /** width × height samples, row by row. */
  readonly samples: Uint16Array | Float32Array | Uint32Array
}

export interface ExrFile {
  readonly width: number
  readonly height: number
  /** In file order: alphabetical. */
  readonly channels: readonly ExrChannel[]
  readonly chromaticities: Chromaticities | null
  /** Attributes of type string and float, by name. */
  readonly attributes: Readonly<Record<string, string | number>>
  /** Names of all attributes, whatever their type, in file order. */
  readonly attributeNames: readonly string[]
}

/** Largest number of samples (all channels) that is read: 1.6 GB of floats. */
const MAXIMUM_SAMPLES = 400_000_000
const MAXIMUM_HEADER = 1 << 20

interface Attribute {
  readonly type: string
  readonly at: number
  readonly size: number
}

function readHeader(bytes: Uint8Array, view: DataView): { attributes: Map<string, Attribute>; end: number } {
  const limit = Math.min(bytes.length, MAXIMUM_HEADER)
  let at = 8
  const name = () => {
    const start = at
    while (at < limit && bytes[at] !== 0) at++
    if (at >= limit || at - start > 255) throw malformed('exr-header-runs-out', { offset: start })
    at++
    return latin1(bytes.subarray(start, at - 1))
  }
  const attributes = new Map<string, Attribute>()
  for (;;) {
    const key = name()
    if (key === '') return { attributes, end: at }
    const type = name()
    if (at + 4 > limit) throw malformed('exr-header-runs-out', { offset: at })
    const size = view.getInt32(at, true)
    at += 4
    if (size < 0 || at + size > limit) throw malformed('exr-attribute-size', { attribute: key, size, offset: at })
    attributes.set(key, { type, at, size })
    at += size
  }
}

const latin1 = (bytes: Uint8Array) => {
  let out = ''
  for (const b of bytes) out += String.fromCharCode(b)
  return out
}

/** UTF-8 text; bytes that are none stand for themselves. */
function utf8(bytes: Uint8Array): string {
  const raw = latin1(bytes)
  try {
    return decodeURIComponent(raw.replace(/[%\x80-\xff]/g, (c) => `%${c.charCodeAt(0).toString(16).padStart(2, '0')}`))
  } catch {
    return raw
  }
}

function need(attributes: Map<string, Attribute>, name: string, type: string, size: number): number {
  const found = attributes.get(name)
  if (!found || found.type !== type || found.size < size) throw malformed('exr-attribute-missing', { attribute: name })
  return found.at
}

const channelTypes = ['uint', 'half', 'float'] as const

function readChannelList(bytes: Uint8Array, view: DataView, list: Attribute) {
  const out: { name: string; type: 'half' | 'float' | 'uint'; bytes: number }[] = []
  const end = list.at + list.size
  let at = list.at
  while (at < end && bytes[at] !== 0) {
    const start = at
    while (at < end && bytes[at] !== 0) at++
    const name = latin1(bytes.subarray(start, at))
    at++
    if (at + 16 > end) throw malformed('exr-channel-list', { offset: at })
    const type = channelTypes[view.getInt32(at, true)]
    if (!type) throw malformed('exr-channel-type', { channel: name })
    if (view.getInt32(at + 8, true) !== 1 || view.getInt32(at + 12, true) !== 1) {
      throw unsupported('exr-subsampled-channel', { channel: name })
    }
    at += 16
    out.push({ name, type, bytes: type === 'half' ? 2 : 4 })
    if (out.length > 64) throw overLimit('exr-too-many-channels', { limit: 64 })
  }
  if (out.length === 0) throw malformed('exr-no-channels')
  return out
}

/** Undoes the ZIP filter: running sum of differences about 128, then the two halves of the bytes interleaved. */
function unfilter(from: Uint8Array): Uint8Array {
  const out = new Uint8Array(from.length)
  const half = (from.length + 1) >> 1
  let value = from[0] ?? 0
  out[0] = value
  for (let i = 1; i < from.length; i++) {
    value = (value + from[i]! - 128) & 255
    out[i < half ? i * 2 : (i - half) * 2 + 1] = value
  }
  return out
}

function unpack(packed: Uint8Array, size: number): Uint8Array {
  // A block that would not shrink is stored as it is (OpenEXR file layout, "Scan line blocks").
  if (packed.length === size) return packed
  const flat = inflateBounded(packed, size)
  if (flat.length !== size) throw malformed('exr-block-size', { expected: size, found: flat.length })
  return unfilter(flat)
}

/**
 * Reads a single-part scanline file with compression none, ZIPS or ZIP. Throws `malformed` for broken bytes,
 * `unsupported` for tiles, deep data, several parts, subsampled channels and other compressions, `limit` for size.
 */
export function readExr(bytes: Uint8Array): ExrFile {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength)
  if (bytes.length < 16 || view.getUint32(0, true) !== 20000630) throw malformed('exr-magic', { bytes: bytes.length })
  const version = view.getUint32(4, true)
  if ((version & 0xff) !== 2) throw unsupported('exr-version', { version: version & 0xff })
  if (version & 0x1a00) throw unsupported('exr-kind', { flags: version >>> 8 })
  const { attributes, end } = readHeader(bytes, view)
  const windowAt = need(attributes, 'dataWindow', 'box2i', 16)
  const [left, top, right, bottom] = [0, 4, 8, 12].map((o) => view.getInt32(windowAt + o, true)) as [
    number,
    number,
    number,
    number,
  ]
  const width = right - left + 1
  const height = bottom - top + 1
  const compression = bytes[need(attributes, 'compression', 'compression', 1)]!
  if (compression !== 0 && compression !== 2 && compression !== 3) throw unsupported('exr-compression', { compression })
  need(attributes, 'channels', 'chlist', 1)
  const list = readChannelList(bytes, view, attributes.get('channels')!)
  if (width < 1 || height < 1) throw malformed('exr-data-window', { width, height })
  if (width * height * list.length > MAXIMUM_SAMPLES)
    throw overLimit('exr-size', { width, height, channels: list.length })

  const rowsInBlock = compression === 3 ? 16 : 1
  const blocks = Math.ceil(height / rowsInBlock)
  const rowBytes = list.reduce((n, c) => n + c.bytes * width, 0)
  // No deflate stream is shorter than 1/1032 of its content, so a short file cannot ask for much memory.
  if (end + blocks * 16 > bytes.length || (rowBytes * height) / 1100 > bytes.length) {
    throw malformed('exr-too-short', { bytes: bytes.length, width, height })
  }
  const planes = list.map((c) =>
    c.type === 'half'
      ? new Uint16Array(width * height)
      : c.type === 'float'
        ? new Float32Array(width * height)
        : new Uint32Array(width * height),
  )
  const rowsSeen = new Uint8Array(blocks)
  for (let b = 0; b < blocks; b++) {
    const at = Number(view.getBigUint64(end + b * 8, true))
    if (at < end || at + 8 > bytes.length) throw malformed('exr-block-offset', { block: b, offset: at })
    const y = view.getInt32(at, true) - top
    const size = view.getInt32(at + 4, true)
    if (y < 0 || y >= height || y % rowsInBlock !== 0) throw malformed('exr-block-row', { block: b, row: y })
    const rows = Math.min(rowsInBlock, height - y)
    if (size < 0 || size > rows * rowBytes || at + 8 + size > bytes.length) {
      throw malformed('exr-block-size', { block: b, found: size, expected: rows * rowBytes })
    }
    rowsSeen[y / rowsInBlock] = 1
    const packed = bytes.subarray(at + 8, at + 8 + size)
    const flat = compression === 0 ? packed : unpack(packed, rows * rowBytes)
    if (flat.length !== rows * rowBytes) throw malformed('exr-block-size', { block: b, found: flat.length })
    let from = 0
    for (let r = y; r < y + rows; r++) {
      list.forEach((c, i) => {
        const plane = planes[i]!
        const count = c.bytes * width
        new Uint8Array(plane.buffer, r * count, count).set(flat.subarray(from, from + count))
        from += count
      })
    }
  }
  if (rowsSeen.includes(0)) throw malformed('exr-rows-missing', { block: rowsSeen.indexOf(0) })

  const chroma = attributes.get('chromaticities')
  const values: Record<string, string | number> = {}
  for (const [name, a] of attributes) {
    if (a.type === 'string') values[name] = utf8(bytes.subarray(a.at, a.at + a.size))
    else if (a.type === 'float' && a.size === 4) values[name] = view.getFloat32(a.at, true)
  }
  return {
    width,
    height,
    channels: list.map((c, i) => ({ name: c.name, type: c.type, samples: planes[i]! })),
    chromaticities:
      chroma?.type === 'chromaticities' && chroma.size === 32
        ? ([0, 1, 2, 3, 4, 5, 6, 7].map((i) => view.getFloat32(chroma.at + 4 * i, true)) as unknown as Chromaticities)
        : null,
    attributes: values,
    attributeNames: [...attributes.keys()],
  }
}
