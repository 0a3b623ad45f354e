import { overLimit } from '#core/base'

/** A place in the shared memory: a byte address. */
export type Address = number

/** Views over the one memory in which all pixels live; every view is made where it is used and kept no longer. */
export interface Memory {
  readonly buffer: ArrayBufferLike
  u8(at: Address, length: number): Uint8Array
  u16(at: Address, length: number): Uint16Array
  i16(at: Address, length: number): Int16Array
  u32(at: Address, length: number): Uint32Array
  i32(at: Address, length: number): Int32Array
  f32(at: Address, length: number): Float32Array
  f64(at: Address, length: number): Float64Array
}

export function memoryOver(buffer: ArrayBufferLike): Memory {
  return {
    buffer,
    u8: (at, n) => new Uint8Array(buffer, at, n),
    u16: (at, n) => new Uint16Array(buffer, at, n),
    i16: (at, n) => new Int16Array(buffer, at, n),
    u32: (at, n) => new Uint32Array(buffer, at, n),
    i32: (at, n) => new Int32Array(buffer, at, n),
    f32: (at, n) => new Float32Array(buffer, at, n),
    f64: (at, n) => new Float64Array(buffer, at, n),
  }
}

/**
 * A stack of allocations in the shared memory. Memory is laid out by the caller, never freed one by one: take a mark,
 * allocate, and go back to the mark. Blocks are 64-byte aligned and followed by 64 spare bytes, so that a kernel may
 * load or store one vector past the end of its data.
 */
export interface Arena extends Memory {
  /** Throws a `limit` failure "out-of-memory" when the memory laid out for the job is used up. */
  alloc(bytes: number): Address
  mark(): Address
  release(mark: Address): void
  readonly bytesLeft: number
}

const SPARE = 64

export function arenaOver(buffer: ArrayBufferLike, start: Address): Arena {
  let top = (start + 63) & ~63
  const end = buffer.byteLength
  return {
    ...memoryOver(buffer),
    alloc(bytes) {
      const at = top
      // Number arithmetic, not bit operations: addresses reach 4 GiB.
      const next = Math.ceil((at + bytes + SPARE) / 64) * 64
      if (next > end) throw overLimit('out-of-memory', { wantedBytes: bytes, leftBytes: end - at })
      top = next
      return at
    },
    mark: () => top,
    release(mark) {
      top = mark
    },
    get bytesLeft() {
      return end - top
    },
  }
}
