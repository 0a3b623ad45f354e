import { type Failure, type LeftOut, malformed, overLimit } from '#core/base'
import type { ByteWindow } from './byte-window.ts'
import { tagText } from './text.ts'
import { mustPass, type TiffDirectory, type TiffField, type TiffFile, tiffTypeBytes } from './tiff-directory.ts'

/** One tag's value may take this much; opcode lists (bytes) may take more. */
const MAX_VALUE_BYTES = 4 * 1024 * 1024
const MAX_BYTES_VALUE_BYTES = 16 * 1024 * 1024

function extent(window: ByteWindow, field: TiffField, limit: number): number {
  const bytes = tiffTypeBytes(field.type) * field.count
  if (bytes > limit) throw overLimit('tag-too-large', { tag: field.tag, foundBytes: bytes, limit })
  window.check(field.valueOffset, bytes)
  return bytes
}

function numberAt(window: ByteWindow, type: number, at: number): number {
  switch (type) {
    case 1:
    case 2:
    case 7:
      return window.u8(at)
    case 3:
      return window.u16(at)
    case 4:
    case 13:
      return window.u32(at)
    // A denominator of zero gives NaN, also for n/0: writers use both for "unknown".
    case 5: {
      const below = window.u32(at + 4)
      return below === 0 ? Number.NaN : window.u32(at) / below
    }
    case 6:
      return window.i8(at)
    case 8:
      return window.i16(at)
    case 9:
      return window.i32(at)
    case 10: {
      const below = window.i32(at + 4)
      return below === 0 ? Number.NaN : window.i32(at) / below
    }
    case 11:
      return window.f32(at)
    case 12:
      return window.f64(at)
    default:
      return Number.NaN
  }
}

/**
 * The values of a field, or its first `most`, as numbers; rationals divided, NaN where the denominator is zero. Bounds are
 * those of the whole value.
 */
export function fieldNumbers(window: ByteWindow, field: TiffField, most = field.count): number[] {
  if (tiffTypeBytes(field.type) === 0) throw malformed('tag-type', { tag: field.tag, found: field.type })
  extent(window, field, MAX_VALUE_BYTES)
  const size = tiffTypeBytes(field.type)
  const count = Math.min(field.count, most)
  const out = new Array<number>(count)
  for (let i = 0; i < count; i++) out[i] = numberAt(window, field.type, field.valueOffset + i * size)
  return out
}

/** A field's bytes as they stand, a view. */
export function fieldBytes(window: ByteWindow, field: TiffField): Uint8Array {
  if (tiffTypeBytes(field.type) === 0) throw malformed('tag-type', { tag: field.tag, found: field.type })
  return window.slice(field.valueOffset, extent(window, field, MAX_BYTES_VALUE_BYTES))
}

/**
 * Reads tags of one directory. Plain methods give null for an absent tag, and for one that cannot be read also null,
 * with the reason added to `leftOut`; `must…` methods throw instead: for tags without which the pixels mean nothing.
 */
export interface TagReader {
  readonly directory: TiffDirectory
  has(tag: number): boolean
  /** All values, or the first `most`. */
  numbers(tag: number, most?: number): number[] | null
  /** The first value, or null. NaN never comes out: it is null. */
  number(tag: number): number | null
  text(tag: number): string | null
  bytes(tag: number): Uint8Array | null
  mustNumbers(tag: number): number[] | null
  mustNumber(tag: number): number | null
  mustBytes(tag: number): Uint8Array | null
}

export function tagReader(tiff: TiffFile, directory: TiffDirectory, leftOut: LeftOut[]): TagReader {
  const { window } = tiff
  const fieldOf = (tag: number): TiffField | null => {
    const field = directory.fields.get(tag)
    return field === undefined || field.count === 0 ? null : field
  }
  const mustNumbers = (tag: number, most?: number): number[] | null => {
    const field = fieldOf(tag)
    return field && fieldNumbers(window, field, most)
  }
  const mustBytes = (tag: number): Uint8Array | null => {
    const field = fieldOf(tag)
    return field && fieldBytes(window, field)
  }
  const optional = <R>(tag: number, read: () => R | null): R | null => {
    try {
      return read()
    } catch (error) {
      if (mustPass(error)) throw error
      const { code, facts } = error as Failure
      leftOut.push({ what: `tag ${tag}`, reason: code, facts: { ...facts, tag } })
      return null
    }
  }
  const first = (values: number[] | null) => {
    const value = values?.[0]
    return value === undefined || Number.isNaN(value) ? null : value
  }
  const bytes = (tag: number) => optional(tag, () => mustBytes(tag))
  return {
    directory,
    has: (tag) => directory.fields.has(tag),
    numbers: (tag, most) => optional(tag, () => mustNumbers(tag, most)),
    number: (tag) => first(optional(tag, () => mustNumbers(tag, 1))),
    bytes,
    text(tag) {
      const raw = bytes(tag)
      const text = raw === null ? '' : tagText(raw.subarray(0, 4096))
      return text === '' ? null : text
    },
    mustNumbers,
    mustNumber: (tag) => first(mustNumbers(tag, 1)),
    mustBytes,
  }
}
