/**
 * Writes TIFF 6.0 (Adobe, 1992, sections 2 and 7) as bytes: any directories, child directories (SubIFDs, Exif), all
 * twelve types, either byte order. Entries are put in ascending order; values of up to 4 bytes stand in the entry.
 */

/** TIFF type numbers, section 2 "Types". */
export const tiffType = {
  byte: 1,
  ascii: 2,
  short: 3,
  long: 4,
  rational: 5,
  sbyte: 6,
  undefined: 7,
  sshort: 8,
  slong: 9,
  srational: 10,
  float: 11,
  double: 12,
} as const

export type TiffTypeName = keyof typeof tiffType

const typeBytes: Readonly<Record<TiffTypeName, number>> = {
  byte: 1,
  ascii: 1,
  short: 2,
  long: 4,
  rational: 8,
  sbyte: 1,
  undefined: 1,
  sshort: 2,
  slong: 4,
  srational: 8,
  float: 4,
  double: 8,
}

/**
 * A field to write. Rationals are given as numerator, denominator, numerator, … ; `ascii` as text without its NUL, or as
 * bytes with it.
 */
export type FieldToWrite =
  | { readonly tag: number; readonly type: 'ascii'; readonly text: string }
  | { readonly tag: number; readonly type: TiffTypeName; readonly values: ArrayLike<number> }

/** Child directories that a field points to: SubIFDs (330), Exif (34665), GPS (34853). */
export interface ChildrenToWrite {
  readonly tag: number
  readonly directories: readonly DirectoryToWrite[]
}

/** Strips or tiles, with the tags of their offsets (273 or 324) and byte counts (279 or 325). */
export interface SegmentsToWrite {
  readonly offsetsTag: number
  readonly countsTag: number
  readonly segments: readonly Uint8Array[]
}

export interface DirectoryToWrite {
  readonly fields: readonly FieldToWrite[]
  readonly children?: readonly ChildrenToWrite[]
  readonly segments?: SegmentsToWrite
}

/** Text as ASCII bytes; anything else becomes "?". */
function asciiBytes(text: string): Uint8Array {
  const out = new Uint8Array(text.length + 1)
  for (let i = 0; i < text.length; i++) out[i] = text.charCodeAt(i) < 128 ? text.charCodeAt(i) : 63
  return out
}

interface Entry {
  readonly tag: number
  readonly type: TiffTypeName
  readonly values: ArrayLike<number>
}

/** A directory with the places of its table, its long values, its segments and its children decided. */
interface Placed {
  readonly at: number
  readonly entries: readonly Entry[]
  readonly valuesAt: readonly number[]
  readonly segmentsAt: readonly number[]
  readonly segments: readonly Uint8Array[]
  readonly children: readonly Placed[]
}

const isRational = (type: TiffTypeName) => type === 'rational' || type === 'srational'
const countOf = (e: Entry) => (isRational(e.type) ? e.values.length / 2 : e.values.length)
const bytesOf = (e: Entry) => countOf(e) * typeBytes[e.type]
const even = (n: number) => n + (n % 2)

function place(directory: DirectoryToWrite, start: number): { placed: Placed; end: number } {
  const groups = directory.children ?? []
  const chunk = directory.segments
  const counted = directory.fields.length + groups.length + (chunk ? 2 : 0)
  let top = start + 2 + counted * 12 + 4

  const childrenOfGroup = groups.map((group) =>
    group.directories.map((child) => {
      const done = place(child, even(top))
      top = done.end
      return done.placed
    }),
  )
  // All tables come before the pixels, so that a reader finds every fact near the start of the file.
  const entries: Entry[] = directory.fields.map((f) =>
    'text' in f
      ? { tag: f.tag, type: 'ascii', values: asciiBytes(f.text) }
      : { tag: f.tag, type: f.type, values: f.values },
  )
  groups.forEach((group, i) => {
    entries.push({ tag: group.tag, type: 'long', values: childrenOfGroup[i]!.map((c) => c.at) })
  })
  const segments = chunk?.segments ?? []
  const segmentsAt: number[] = new Array<number>(segments.length).fill(0)
  if (chunk) {
    entries.push({ tag: chunk.offsetsTag, type: 'long', values: segmentsAt })
    entries.push({ tag: chunk.countsTag, type: 'long', values: segments.map((s) => s.length) })
  }
  entries.sort((a, b) => a.tag - b.tag)
  const valuesAt = entries.map((e) => {
    if (bytesOf(e) <= 4) return 0
    const at = even(top)
    top = at + bytesOf(e)
    return at
  })
  const placed = { at: start, entries, valuesAt, segmentsAt, segments, children: childrenOfGroup.flat() }
  return { placed, end: even(top) }
}

/** Segments follow all tables; `segmentsAt` is the very array that the offsets entry holds. */
function placeSegments(placed: Placed, top: number): number {
  let at = top
  placed.segments.forEach((segment, i) => {
    ;(placed.segmentsAt as number[])[i] = at
    at = even(at + segment.length)
  })
  for (const child of placed.children) at = placeSegments(child, at)
  return at
}

function writeValues(view: DataView, at: number, e: Entry, little: boolean): void {
  const size = isRational(e.type) ? 4 : typeBytes[e.type]
  for (let i = 0; i < e.values.length; i++) {
    const value = e.values[i]!
    const to = at + i * size
    if (e.type === 'float') view.setFloat32(to, value, little)
    else if (e.type === 'double') view.setFloat64(to, value, little)
    else if (size === 1) view.setUint8(to, value)
    else if (size === 2) view.setUint16(to, value, little)
    // setUint32 wraps, so negative SLONG and SRATIONAL parts come out in two's complement.
    else view.setUint32(to, value, little)
  }
}

function writePlaced(bytes: Uint8Array, view: DataView, placed: Placed, next: number, little: boolean): void {
  view.setUint16(placed.at, placed.entries.length, little)
  placed.entries.forEach((e, i) => {
    const at = placed.at + 2 + i * 12
    view.setUint16(at, e.tag, little)
    view.setUint16(at + 2, tiffType[e.type], little)
    view.setUint32(at + 4, countOf(e), little)
    const valuesAt = placed.valuesAt[i]!
    if (valuesAt > 0) view.setUint32(at + 8, valuesAt, little)
    writeValues(view, valuesAt > 0 ? valuesAt : at + 8, e, little)
  })
  view.setUint32(placed.at + 2 + placed.entries.length * 12, next, little)
  placed.segments.forEach((segment, i) => {
    bytes.set(segment, placed.segmentsAt[i]!)
  })
  for (const child of placed.children) writePlaced(bytes, view, child, 0, little)
}

/** One TIFF file from its directories (IFD0, IFD1, … in a chain). */
export function writeTiff(
  directories: readonly DirectoryToWrite[],
  options: { littleEndian?: boolean } = {},
): Uint8Array {
  const little = options.littleEndian ?? true
  let top = 8
  const placed = directories.map((d) => {
    const done = place(d, even(top))
    top = done.end
    return done.placed
  })
  for (const p of placed) top = placeSegments(p, top)
  const bytes = new Uint8Array(top)
  const view = new DataView(bytes.buffer)
  bytes.set(little ? [0x49, 0x49] : [0x4d, 0x4d])
  view.setUint16(2, 42, little)
  view.setUint32(4, placed[0]?.at ?? 0, little)
  placed.forEach((p, i) => {
    writePlaced(bytes, view, p, placed[i + 1]?.at ?? 0, little)
  })
  return bytes
}

/** Numbers as rationals over one denominator: 0.56 over 10000 → 5600, 10000. */
export const rationals = (numbers: readonly number[], denominator: number): number[] =>
  numbers.flatMap((n) => [Math.round(n * denominator), denominator])
