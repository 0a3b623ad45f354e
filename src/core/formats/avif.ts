import { malformed } from '#core/base'
import { utf8Text } from './text.ts'
import type { PictureMetadata } from './tiff-picture.ts'

/** A box of ISO/IEC 14496-12, 4.2: four letters, and where its content lies. */
interface Box {
  readonly name: string
  readonly start: number
  readonly end: number
}

/** What an AVIF file is made of: the coded picture and what a decoder must know of it. */
export interface AvifPicture {
  /** The AV1 temporal unit. */
  readonly coded: Uint8Array
  /** Content of av1C (AV1-ISOBMFF 2.3). */
  readonly configuration: Uint8Array
  readonly width: number
  readonly height: number
  readonly bitsPerSample: number
}

/** Code points of ITU-T H.273: colour primaries, transfer characteristics, matrix coefficients; full range always. */
export interface CodePoints {
  readonly primaries: number
  readonly transfer: number
  readonly matrix: number
}

const name4 = (bytes: Uint8Array, at: number) => String.fromCharCode(...bytes.subarray(at, at + 4))

function boxesIn(bytes: Uint8Array, from: number, to: number): Box[] {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength)
  const out: Box[] = []
  for (let at = from; at < to; ) {
    if (at + 8 > to) throw malformed('heif-box', { offset: at })
    let size = view.getUint32(at)
    let head = 8
    if (size === 1 && at + 16 <= to) {
      size = Number(view.getBigUint64(at + 8))
      head = 16
    }
    if (size === 0) size = to - at
    if (size < head || at + size > to) throw malformed('heif-box', { offset: at, found: size })
    out.push({ name: name4(bytes, at + 4), start: at + head, end: at + size })
    at += size
  }
  return out
}

function boxIn(bytes: Uint8Array, parent: Box, name: string, skip = 0): Box {
  const found = boxesIn(bytes, parent.start + skip, parent.end).find((b) => b.name === name)
  if (!found) throw malformed('heif-lacks', { box: name })
  return found
}

/** A little reader of big-endian numbers within one box. */
function numbersIn(bytes: Uint8Array, box: Box) {
  let at = box.start
  return (size: number): number => {
    if (at + size > box.end) throw malformed('heif-box', { offset: at })
    let value = 0
    for (let i = 0; i < size; i++) value = value * 256 + bytes[at++]!
    return value
  }
}

/** An item of the file: its number, its kind, and its bytes, a view. */
export interface HeifItem {
  readonly id: number
  readonly kind: string
  /** Of items of kind mime. */
  readonly contentType: string | null
  readonly bytes: Uint8Array
}

/** Item kinds by number: infe boxes of version 2 or 3 (ISO/IEC 14496-12, 8.11.6). */
function itemKinds(bytes: Uint8Array, meta: Box): Map<number, { kind: string; contentType: string | null }> {
  const iinf = boxIn(bytes, meta, 'iinf', 4)
  const skip = bytes[iinf.start] === 0 ? 6 : 8
  const out = new Map<number, { kind: string; contentType: string | null }>()
  for (const infe of boxesIn(bytes, iinf.start + skip, iinf.end)) {
    const next = numbersIn(bytes, infe)
    const version = next(1)
    next(3)
    const id = next(version === 2 ? 2 : 4)
    next(2)
    const kindAt = infe.start + (version === 2 ? 8 : 10)
    const kind = name4(bytes, kindAt)
    const texts = bytes.subarray(kindAt + 4, infe.end)
    const nameEnd = texts.indexOf(0)
    const typeEnd = texts.indexOf(0, nameEnd + 1)
    const contentType = kind === 'mime' && typeEnd > nameEnd ? utf8Text(texts.subarray(nameEnd + 1, typeEnd)) : null
    out.set(id, { kind, contentType })
  }
  return out
}

/** The bytes of every item, one extent each, in the file itself (8.11.3, construction method 0). */
export function heifItems(bytes: Uint8Array): HeifItem[] {
  const meta = metaOf(bytes)
  const kinds = itemKinds(bytes, meta)
  const next = numbersIn(bytes, boxIn(bytes, meta, 'iloc', 4))
  const version = next(1)
  next(3)
  const sizes = next(1)
  const more = next(1)
  const count = next(version < 2 ? 2 : 4)
  const out: HeifItem[] = []
  for (let i = 0; i < count; i++) {
    const id = next(version < 2 ? 2 : 4)
    if (version > 0 && (next(2) & 15) !== 0) throw malformed('heif-lacks', { box: 'mdat' })
    next(2)
    const base = next(more >> 4)
    if (next(2) !== 1) throw malformed('heif-lacks', { box: 'extent' })
    if (version > 0) next(more & 15)
    const start = base + next(sizes >> 4)
    const length = next(sizes & 15)
    if (start + length > bytes.length) throw malformed('heif-box', { offset: start })
    const about = kinds.get(id) ?? { kind: '', contentType: null }
    out.push({ id, ...about, bytes: bytes.subarray(start, start + length) })
  }
  return out
}

function metaOf(bytes: Uint8Array): Box {
  const top = boxesIn(bytes, 0, bytes.length)
  const meta = top.find((b) => b.name === 'meta')
  if (!meta) throw malformed('heif-lacks', { box: 'meta' })
  return meta
}

/** Property boxes of the file, in the order of the container (ISO/IEC 23008-12, 9.3). */
export function heifProperties(bytes: Uint8Array): { readonly name: string; readonly content: Uint8Array }[] {
  const ipco = boxIn(bytes, boxIn(bytes, metaOf(bytes), 'iprp', 4), 'ipco')
  return boxesIn(bytes, ipco.start, ipco.end).map((b) => ({ name: b.name, content: bytes.subarray(b.start, b.end) }))
}

/**
 * The coded picture of an AVIF file with one picture in it, as an encoder writes it.
 * @throws malformed "heif-box", "heif-lacks"
 */
export function readAvif(bytes: Uint8Array): AvifPicture {
  const [item, another] = heifItems(bytes).filter((i) => i.kind === 'av01')
  const properties = heifProperties(bytes)
  const of = (name: string) => properties.find((p) => p.name === name)?.content
  const [configuration, size, bits] = [of('av1C'), of('ispe'), of('pixi')]
  if (!item || another || !configuration || !size || !bits) throw malformed('heif-lacks', { box: 'av01' })
  const view = new DataView(size.buffer, size.byteOffset, size.byteLength)
  return {
    coded: item.bytes,
    configuration,
    width: view.getUint32(4),
    height: view.getUint32(8),
    bitsPerSample: bits[5]!,
  }
}

const ascii = (text: string) => [...text].map((c) => c.charCodeAt(0))
const u16 = (n: number) => [n >> 8, n & 255]
const u32 = (n: number) => [n >>> 24, (n >>> 16) & 255, (n >>> 8) & 255, n & 255]
const text0 = (text: string) => [...ascii(text), 0]

const box = (name: string, ...content: readonly (readonly number[])[]): number[] => {
  const flat = content.flat()
  return [...u32(flat.length + 8), ...ascii(name), ...flat]
}
const fullBox = (name: string, version: number, flags: number, ...content: readonly (readonly number[])[]): number[] =>
  box(name, [version, (flags >> 16) & 255, (flags >> 8) & 255, flags & 255], ...content)

const BT601_MATRIX = 6

/** The encoder's matrix is BT.601's, as for JPEG; the primaries and the curve are what the pixels are in. */
export const codePoints = (primaries: 'srgb' | 'display-p3'): CodePoints => ({
  primaries: primaries === 'srgb' ? 1 : 12,
  transfer: 13,
  matrix: BT601_MATRIX,
})

/**
 * An AVIF file (AV1 Image File Format 1.1; ISO/IEC 23008-12) of one coded picture, with exactly this metadata: profile and
 * code points as colour properties, Exif and XMP as items that describe the picture.
 */
export function writeAvif(picture: AvifPicture, points: CodePoints, metadata: PictureMetadata): Uint8Array {
  // ISO/IEC 23008-12 annex A.2.1: four bytes say where the TIFF header begins.
  const exif = metadata.exif ? Uint8Array.from([0, 0, 0, 0, ...metadata.exif]) : null
  const items = [
    { id: 1, bytes: picture.coded, about: [...ascii('av01'), 0] },
    ...(exif ? [{ id: 2, bytes: exif, about: [...ascii('Exif'), 0] }] : []),
    ...(metadata.xmp
      ? [{ id: 3, bytes: metadata.xmp, about: [...ascii('mime'), 0, ...text0('application/rdf+xml')] }]
      : []),
  ]
  const depth = picture.bitsPerSample
  const meta = (dataAt: number) => {
    let at = dataAt
    const places = items.flatMap(({ id, bytes }) => {
      const place = [...u16(id), ...u16(0), ...u16(1), ...u32(at), ...u32(bytes.length)]
      at += bytes.length
      return place
    })
    return fullBox(
      'meta',
      0,
      0,
      fullBox('hdlr', 0, 0, u32(0), ascii('pict'), u32(0), u32(0), u32(0), [0]),
      fullBox('pitm', 0, 0, u16(1)),
      fullBox('iloc', 0, 0, [0x44, 0x00], u16(items.length), places),
      fullBox(
        'iinf',
        0,
        0,
        u16(items.length),
        items.flatMap(({ id, about }) => fullBox('infe', 2, id === 1 ? 0 : 1, u16(id), u16(0), about)),
      ),
      ...(items.length > 1
        ? [fullBox('iref', 0, 0, ...items.slice(1).map(({ id }) => box('cdsc', u16(id), u16(1), u16(1))))]
        : []),
      box(
        'iprp',
        box(
          'ipco',
          fullBox('ispe', 0, 0, u32(picture.width), u32(picture.height)),
          fullBox('pixi', 0, 0, [3, depth, depth, depth]),
          box('av1C', [...picture.configuration]),
          box('colr', ascii('nclx'), u16(points.primaries), u16(points.transfer), u16(points.matrix), [0x80]),
          box('colr', ascii('prof'), [...metadata.icc]),
        ),
        // Of these only the decoder's configuration must be understood (bit 7).
        fullBox('ipma', 0, 0, u32(1), u16(1), [5, 1, 2, 0x83, 4, 5]),
      ),
    )
  }
  const ftyp = box('ftyp', ascii('avif'), u32(0), ascii('avif'), ascii('mif1'), ascii('miaf'))
  const dataAt = ftyp.length + meta(0).length + 8
  const bytes = items.reduce((n, i) => n + i.bytes.length, 0)
  const out = new Uint8Array(dataAt + bytes)
  out.set(ftyp)
  out.set(meta(dataAt), ftyp.length)
  out.set([...u32(bytes + 8), ...ascii('mdat')], dataAt - 8)
  let at = dataAt
  for (const item of items) {
    out.set(item.bytes, at)
    at += item.bytes.length
  }
  return out
}
