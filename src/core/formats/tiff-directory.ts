import { Failure, malformed, overLimit, unsupported } from '#core/base'
import { type ByteWindow, byteWindow } from './byte-window.ts'

/** One directory entry; its value lies at `valueOffset` (inside the entry itself when it takes 4 bytes or fewer). */
export interface TiffField {
  readonly tag: number
  /** 1 BYTE, 2 ASCII, 3 SHORT, 4 LONG, 5 RATIONAL, 6 SBYTE, 7 UNDEFINED, 8 SSHORT, 9 SLONG, 10 SRATIONAL, 11 FLOAT, 12 DOUBLE, 13 IFD. */
  readonly type: number
  readonly count: number
  readonly valueOffset: number
}

export interface TiffDirectory {
  readonly offset: number
  readonly fields: ReadonlyMap<number, TiffField>
}

export interface TiffFile {
  readonly window: ByteWindow
  /** The chain of top directories; the first always exists. */
  readonly directories: readonly TiffDirectory[]
  /** Why the chain ended early (a loop, an offset outside the file), when it did. */
  readonly problems: readonly Failure[]
}

const ENTRY_BYTES = 12
const MAX_DIRECTORIES = 64
const MAX_ENTRIES = 2048
/** Bytes of one value by type, TIFF 6.0 section 2 and (13, IFD) Adobe's PageMaker technical notes. */
const TYPE_BYTES = [0, 1, 1, 2, 4, 8, 1, 1, 2, 4, 8, 4, 8, 4] as const

export const tiffTypeBytes = (type: number): number => TYPE_BYTES[type] ?? 0

/** Thrown on, never swallowed: more of the file is needed, or the user stopped. */
export const mustPass = (error: unknown): boolean =>
  !(error instanceof Failure) || error.code === 'beyond-head' || error.kind === 'aborted'

/** "II" or "MM" with 42, or 43 for BigTIFF, which `readTiff` refuses by name. */
export function isTiff(bytes: Uint8Array): boolean {
  const [a, b, c, d] = bytes
  const version = a === 0x49 && b === 0x49 && d === 0 ? c : a === 0x4d && b === 0x4d && c === 0 ? d : 0
  return version === 42 || version === 43
}

/**
 * Reads the header and the chain of top directories of a TIFF structure (TIFF 6.0 section 2), either byte order.
 * Values are not read: an offset outside the file costs only the tag it belongs to, and only when that is asked for.
 * @throws malformed "not-tiff", "outside-file", "directory-empty"; unsupported "bigtiff"; limit "too-many-entries", "beyond-head"
 */
export function readTiff(bytes: Uint8Array, fileBytes = bytes.length): TiffFile {
  const order = (bytes[0] ?? 0) * 256 + (bytes[1] ?? 0)
  if (order !== 0x4949 && order !== 0x4d4d) throw malformed('not-tiff', { found: order })
  const window = byteWindow(bytes, order === 0x4949, fileBytes)
  const version = window.u16(2)
  if (version === 43) throw unsupported('bigtiff')
  if (version !== 42) throw malformed('not-tiff', { found: version })
  const directories: TiffDirectory[] = []
  const problems: Failure[] = []
  const seen = new Set<number>()
  let at = window.u32(4)
  while (at !== 0) {
    try {
      if (seen.has(at)) throw malformed('directory-loop', { offset: at })
      if (seen.size >= MAX_DIRECTORIES) throw overLimit('too-many-directories', { limit: MAX_DIRECTORIES })
      seen.add(at)
      const directory = readDirectory(window, at)
      const next = at + 2 + directory.entries * ENTRY_BYTES
      directories.push({ offset: at, fields: directory.fields })
      // A few writers leave out the last "no more directories" word at the very end of the file.
      at = next + 4 <= window.fileBytes ? window.u32(next) : 0
    } catch (error) {
      if (directories.length === 0 || mustPass(error)) throw error
      problems.push(error as Failure)
      break
    }
  }
  if (directories.length === 0) throw malformed('directory-empty', { offset: 4 })
  return { window, directories, problems }
}

function readDirectory(window: ByteWindow, at: number) {
  const entries = window.u16(at)
  if (entries === 0) throw malformed('directory-empty', { offset: at })
  if (entries > MAX_ENTRIES) throw overLimit('too-many-entries', { found: entries, limit: MAX_ENTRIES, offset: at })
  window.check(at + 2, entries * ENTRY_BYTES)
  const fields = new Map<number, TiffField>()
  for (let i = 0; i < entries; i++) {
    const entry = at + 2 + i * ENTRY_BYTES
    const tag = window.u16(entry)
    const type = window.u16(entry + 2)
    const count = window.u32(entry + 4)
    const inline = tiffTypeBytes(type) * count <= 4
    // The first of two entries with one tag counts: entries must ascend, so a second one is a fault of the writer.
    if (!fields.has(tag)) {
      fields.set(tag, { tag, type, count, valueOffset: inline ? entry + 8 : window.u32(entry + 8) })
    }
  }
  return { entries, fields }
}

/**
 * The directories that a tag of one directory points to (SubIFDs, Exif, GPS). Ones that cannot be read are named in
 * `problems`; offsets already in `seen` are skipped, which ends loops.
 */
export function childDirectories(
  tiff: TiffFile,
  offsets: readonly number[],
  seen: Set<number>,
): { directories: TiffDirectory[]; problems: Failure[] } {
  const directories: TiffDirectory[] = []
  const problems: Failure[] = []
  for (const offset of offsets) {
    // 0 is what writers put who have no child.
    if (offset === 0 || seen.has(offset)) continue
    if (seen.size >= MAX_DIRECTORIES) {
      problems.push(overLimit('too-many-directories', { limit: MAX_DIRECTORIES }))
      break
    }
    seen.add(offset)
    try {
      directories.push({ offset, fields: readDirectory(tiff.window, offset).fields })
    } catch (error) {
      if (mustPass(error)) throw error
      problems.push(error as Failure)
    }
  }
  return { directories, problems }
}
