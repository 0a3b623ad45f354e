import { Failure } from '#core/base'
import {
  childDirectories,
  GAIN_MAP_SEGMENT,
  heifItems,
  heifProperties,
  pngChunks,
  readExr,
  readTiff,
  readXmp,
  type TiffDirectory,
} from '#core/formats'

/** What a written file says besides its pixels: names of facts, and whatever else is in it, which should be nothing. */
export interface Found {
  readonly found: readonly string[]
  readonly unexpected: readonly string[]
}

type Sort = 'jpeg' | 'hdr-jpeg' | 'avif' | 'tiff' | 'png' | 'exr' | 'dng'

/** Facts by tag: Exif 2.32 and TIFF 6.0. */
const factTags: Readonly<Record<number, string>> = {
  270: 'caption',
  271: 'make',
  272: 'model',
  274: 'orientation',
  305: 'software',
  315: 'artist',
  33432: 'copyright',
  33434: 'exposure-time',
  33437: 'f-number',
  34855: 'iso',
  36867: 'date',
  36881: 'time-offset',
  37386: 'focal-length',
  34675: 'profile',
}
/** Tags that only say how samples lie, how large a pixel prints, and where directories are. */
const layoutTags = new Set([
  ...[254, 256, 257, 258, 259, 262, 273, 277, 278, 279, 282, 283, 284, 296, 339, 34665],
  ...[36864, 40961, 40962, 40963],
])
/** Of a linear DNG: versions, our own name for its colours, levels, matrices, crop. */
const dngTags = new Set([
  ...[50706, 50707, 50708, 50713, 50714, 50717, 50718, 50719, 50720, 50721, 50728, 50730, 50778, 50829, 50964],
])
/** Local names in an XMP packet of ours: texts, the gain map's numbers, and the directory of pictures. */
const xmpNames = new Set([
  ...['li', 'lang', 'parseType', 'Version', 'GainMapMin', 'GainMapMax', 'Gamma', 'OffsetSDR', 'OffsetHDR'],
  ...['HDRCapacityMin', 'HDRCapacityMax', 'BaseRenditionIsHDR', 'Semantic', 'Mime', 'Length'],
])
const exrFacts: Readonly<Record<string, string>> = {
  owner: 'copyright',
  artist: 'artist',
  comments: 'caption',
  capDate: 'date',
  utcOffset: 'time-offset',
  expTime: 'exposure-time',
  aperture: 'f-number',
  isoSpeed: 'iso',
  nominalFocalLength: 'focal-length',
  cameraMake: 'make',
  cameraModel: 'model',
  software: 'software',
  chromaticities: 'profile',
}
const exrLayoutNames = new Set([
  ...['channels', 'compression', 'dataWindow', 'displayWindow', 'lineOrder', 'pixelAspectRatio'],
  ...['screenWindowCenter', 'screenWindowWidth', 'whiteLuminance'],
])

/** Two growing lists. */
function lists() {
  const found = new Set<string>()
  const unexpected = new Set<string>()
  return {
    fact: (name: string) => void found.add(name),
    odd: (name: string) => void unexpected.add(name),
    done: (): Found => ({ found: [...found], unexpected: [...unexpected] }),
  }
}
type Lists = ReturnType<typeof lists>

function lookAtXmp(packet: Uint8Array, to: Lists): void {
  to.fact('xmp')
  for (const name of readXmp(packet).keys()) if (!xmpNames.has(name)) to.odd(`xmp ${name}`)
}

/** Every directory of a TIFF structure, and where in the file the last strip ends. */
function lookAtTiff(bytes: Uint8Array, to: Lists, isDng: boolean): { stripsEnd: number } {
  const tiff = readTiff(bytes)
  const seen = new Set(tiff.directories.map((d) => d.offset))
  let stripsEnd = 0
  const look = (directory: TiffDirectory) => {
    for (const field of directory.fields.values()) {
      const { tag, valueOffset, count } = field
      const fact = factTags[tag]
      if (fact) to.fact(fact)
      else if (tag === 700) lookAtXmp(tiff.window.slice(valueOffset, count), to)
      else if (!layoutTags.has(tag) && !(isDng && dngTags.has(tag))) to.odd(`tag ${tag}`)
    }
    const [at, size] = [directory.fields.get(273), directory.fields.get(279)]
    for (let i = 0; at && size && i < at.count; i++)
      stripsEnd = Math.max(
        stripsEnd,
        tiff.window.u32(at.valueOffset + 4 * i) + tiff.window.u32(size.valueOffset + 4 * i),
      )
    const pointer = directory.fields.get(34665)
    if (!pointer) return
    const children = childDirectories(tiff, [tiff.window.u32(pointer.valueOffset)], seen)
    children.directories.forEach(look)
    for (const problem of children.problems) to.odd(problem.code)
  }
  tiff.directories.forEach(look)
  if (tiff.directories.length > 1) to.odd(`${tiff.directories.length} directories`)
  for (const problem of tiff.problems) to.odd(problem.code)
  return { stripsEnd }
}

const startsWith = (bytes: Uint8Array, text: string) => [...text].every((c, i) => bytes[i] === c.charCodeAt(0))

/** One JPEG stream from `start`; returns where it ends. Every segment is looked at, every byte accounted for. */
function lookAtJpeg(bytes: Uint8Array, start: number, to: Lists, isHdr: boolean): number {
  const u16 = (at: number) => (bytes[at] ?? 0) * 256 + (bytes[at + 1] ?? 0)
  let at = start + 2
  while (at + 4 <= bytes.length && bytes[at] === 0xff && bytes[at + 1] !== 0xd9) {
    const marker = bytes[at + 1]!
    const body = bytes.subarray(at + 4, at + 2 + u16(at + 2))
    at += 2 + u16(at + 2)
    if (marker === 0xda) {
      // Coded data: FF is followed by 00 or by a restart marker (ITU-T T.81 B.1.1.5, B.2.1).
      while (at + 1 < bytes.length && !(bytes[at] === 0xff && bytes[at + 1] !== 0 && (bytes[at + 1]! & 0xf8) !== 0xd0))
        at++
      continue
    }
    if (marker === 0xe0 && startsWith(body, 'JFIF\0')) {
      if (body[12] !== 0 || body[13] !== 0) to.odd('jfif thumbnail')
    } else if (marker === 0xe1 && startsWith(body, 'Exif\0\0')) lookAtTiff(body.subarray(6), to, false)
    else if (marker === 0xe1 && startsWith(body, 'http://ns.adobe.com/xap/1.0/\0')) lookAtXmp(body.subarray(29), to)
    else if (marker === 0xe2 && startsWith(body, 'ICC_PROFILE\0')) to.fact('profile')
    else if (isHdr && marker === 0xe2 && startsWith(body, GAIN_MAP_SEGMENT)) to.fact('gain-map')
    else if (isHdr && marker === 0xe2 && startsWith(body, 'MPF\0')) to.fact('picture-index')
    else if (marker >= 0xe0 || marker === 0xfe) to.odd(`segment ${marker.toString(16)}`)
  }
  if (bytes[at] !== 0xff || bytes[at + 1] !== 0xd9) to.odd('no end of the picture')
  return at + 2
}

function lookAtJpegFile(bytes: Uint8Array, to: Lists, isHdr: boolean): void {
  let end = lookAtJpeg(bytes, 0, to, isHdr)
  if (isHdr && bytes[end] === 0xff && bytes[end + 1] === 0xd8) end = lookAtJpeg(bytes, end, to, true)
  if (end !== bytes.length) to.odd('bytes after the picture')
}

function lookAtPng(bytes: Uint8Array, to: Lists): void {
  const chunks = pngChunks(bytes)
  for (const { name, data } of chunks) {
    if (name === 'iCCP') to.fact('profile')
    else if (name === 'eXIf') lookAtTiff(data, to, false)
    else if (name === 'iTXt' && startsWith(data, 'XML:com.adobe.xmp\0')) lookAtXmp(data.subarray(22), to)
    else if (!['IHDR', 'PLTE', 'IDAT', 'IEND'].includes(name)) to.odd(`chunk ${name}`)
  }
  const size = chunks.reduce((n, c) => n + c.data.length + 12, 8)
  if (size !== bytes.length) to.odd('bytes after the picture')
}

function lookAtAvif(bytes: Uint8Array, to: Lists): void {
  let held = 0
  for (const item of heifItems(bytes)) {
    held += item.bytes.length
    if (item.kind === 'Exif') lookAtTiff(item.bytes.subarray(4), to, false)
    else if (item.kind === 'mime' && item.contentType === 'application/rdf+xml') lookAtXmp(item.bytes, to)
    else if (item.kind !== 'av01') to.odd(`item ${item.kind}`)
  }
  for (const { name, content } of heifProperties(bytes)) {
    if (name === 'colr' && startsWith(content, 'prof')) to.fact('profile')
    else if (!['ispe', 'pixi', 'av1C', 'colr'].includes(name)) to.odd(`property ${name}`)
  }
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength)
  for (let at = 0; at + 8 <= bytes.length; at += view.getUint32(at) || bytes.length) {
    const name = String.fromCharCode(...bytes.subarray(at + 4, at + 8))
    if (!['ftyp', 'meta', 'mdat'].includes(name)) to.odd(`box ${name}`)
    else if (name === 'mdat' && view.getUint32(at) - 8 !== held) to.odd('bytes beside the picture')
  }
}

function lookAtExr(bytes: Uint8Array, to: Lists): void {
  for (const name of readExr(bytes).attributeNames) {
    const fact = exrFacts[name]
    if (fact) to.fact(fact)
    else if (!exrLayoutNames.has(name)) to.odd(`attribute ${name}`)
  }
}

/**
 * Reads a written file's metadata from its bytes, by the formats' own rules and not by what was meant to be written. What
 * it does not know it calls unexpected, and so does it what cannot be read.
 */
export function metadataIn(sort: Sort, bytes: Uint8Array): Found {
  const to = lists()
  try {
    if (sort === 'jpeg' || sort === 'hdr-jpeg') lookAtJpegFile(bytes, to, sort === 'hdr-jpeg')
    else if (sort === 'png') lookAtPng(bytes, to)
    else if (sort === 'avif') lookAtAvif(bytes, to)
    else if (sort === 'exr') lookAtExr(bytes, to)
    else {
      const { stripsEnd } = lookAtTiff(bytes, to, sort === 'dng')
      if (stripsEnd + (stripsEnd % 2) !== bytes.length) to.odd('bytes after the picture')
    }
  } catch (error) {
    if (!(error instanceof Failure)) throw error
    to.odd(error.code)
  }
  return to.done()
}
