import { malformed, overLimit } from '#core/base'

/**
 * Bounded reads over the start of a file. `bytes` may be only the head of a file of `fileBytes`: a read past the file is
 * `malformed` "outside-file" (the file is cut short or an offset lies), a read past the head alone is `limit`
 * "beyond-head" with `offset` and `neededBytes`, so that the caller can come back with more.
 */
export interface ByteWindow {
  readonly bytes: Uint8Array
  readonly fileBytes: number
  readonly littleEndian: boolean
  /** Throws unless `length` bytes at `at` can be read. */
  check(at: number, length: number): void
  u8(at: number): number
  u16(at: number): number
  u32(at: number): number
  i8(at: number): number
  i16(at: number): number
  i32(at: number): number
  f32(at: number): number
  f64(at: number): number
  /** A view, not a copy. */
  slice(at: number, length: number): Uint8Array
}

/** Parts that were read of buffers as long as their files; a buffer that is not here is read as far as it goes. */
const partsOf = new WeakMap<Uint8Array, readonly { readonly from: number; readonly to: number }[]>()

/** Says that of `bytes`, which is as long as the file, only these parts were read: the rest is "beyond-head". */
export function readInParts(bytes: Uint8Array, parts: readonly { readonly from: number; readonly to: number }[]): void {
  partsOf.set(bytes, parts)
}

export function byteWindow(bytes: Uint8Array, littleEndian: boolean, fileBytes = bytes.length): ByteWindow {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength)
  const whole = Math.max(fileBytes, bytes.length)
  const parts = partsOf.get(bytes)
  const check = (at: number, length: number) => {
    if (!(at >= 0) || !(length >= 0) || at + length > whole) {
      throw malformed('outside-file', { offset: at, wantedBytes: length, fileBytes: whole })
    }
    if (at + length > bytes.length || parts?.every((p) => at < p.from || at + length > p.to))
      throw overLimit('beyond-head', { offset: at, neededBytes: at + length, headBytes: bytes.length })
  }
  const reader =
    <R>(size: number, read: (at: number) => R) =>
    (at: number): R => {
      check(at, size)
      return read(at)
    }
  return {
    bytes,
    fileBytes: whole,
    littleEndian,
    check,
    u8: reader(1, (at) => view.getUint8(at)),
    u16: reader(2, (at) => view.getUint16(at, littleEndian)),
    u32: reader(4, (at) => view.getUint32(at, littleEndian)),
    i8: reader(1, (at) => view.getInt8(at)),
    i16: reader(2, (at) => view.getInt16(at, littleEndian)),
    i32: reader(4, (at) => view.getInt32(at, littleEndian)),
    f32: reader(4, (at) => view.getFloat32(at, littleEndian)),
    f64: reader(8, (at) => view.getFloat64(at, littleEndian)),
    slice(at, length) {
      check(at, length)
      return bytes.subarray(at, at + length)
    },
  }
}
