// Uncompressed samples to u16, fast twin of unpack.ts: see there for layouts and sources.

export function unpackBytes(src: usize, srcStride: usize, dst: usize, dstStride: usize, columns: i32, rows: i32): void {
  for (let y = 0; y < rows; y++) {
    let x = 0
    for (; x + 8 <= columns; x += 8) v128.store(dst + (x << 1), v128.load_ext<u8>(src + x))
    for (; x < columns; x++) store<u16>(dst + (x << 1), load<u8>(src + x))
    src += srcStride
    dst += dstStride
  }
}

export function unpackWords(
  src: usize,
  srcStride: usize,
  dst: usize,
  dstStride: usize,
  columns: i32,
  rows: i32,
  bigEndian: i32,
): void {
  for (let y = 0; y < rows; y++) {
    if (!bigEndian) memory.copy(dst, src, columns << 1)
    else {
      let x = 0
      for (; x + 8 <= columns; x += 8) {
        const v = v128.load(src + (x << 1))
        v128.store(dst + (x << 1), v128.shuffle<i8>(v, v, 1, 0, 3, 2, 5, 4, 7, 6, 9, 8, 11, 10, 13, 12, 15, 14))
      }
      for (; x < columns; x++) store<u16>(dst + (x << 1), bswap<u16>(load<u16>(src + (x << 1))))
    }
    src += srcStride
    dst += dstStride
  }
}

// Which four bytes, highest first, hold the k-th sample: the index vector's lane for swizzle.
// @ts-ignore: decorator
@inline
function bytesOf(k: i32, bits: i32): i32 {
  return 0x00010203 + 0x01010101 * ((k * bits) >> 3)
}

// Multiplying by this moves the k-th sample to the top of its lane.
// @ts-ignore: decorator
@inline
function liftOf(k: i32, bits: i32): i32 {
  return 1 << ((k * bits) & 7)
}

// Eight samples are `bits` bytes, at most 15: one load, two swizzles of four 32-bit lanes each, a multiplication in place
// of the per-lane shift that WebAssembly lacks, and one shift down.
export function unpackBits(
  src: usize,
  srcStride: usize,
  dst: usize,
  dstStride: usize,
  columns: i32,
  rows: i32,
  bits: i32,
): void {
  let lowBytes = i32x4.splat(bytesOf(0, bits))
  lowBytes = i32x4.replace_lane(lowBytes, 1, bytesOf(1, bits))
  lowBytes = i32x4.replace_lane(lowBytes, 2, bytesOf(2, bits))
  lowBytes = i32x4.replace_lane(lowBytes, 3, bytesOf(3, bits))
  let highBytes = i32x4.splat(bytesOf(4, bits))
  highBytes = i32x4.replace_lane(highBytes, 1, bytesOf(5, bits))
  highBytes = i32x4.replace_lane(highBytes, 2, bytesOf(6, bits))
  highBytes = i32x4.replace_lane(highBytes, 3, bytesOf(7, bits))
  let lowLift = i32x4.splat(liftOf(0, bits))
  lowLift = i32x4.replace_lane(lowLift, 1, liftOf(1, bits))
  lowLift = i32x4.replace_lane(lowLift, 2, liftOf(2, bits))
  lowLift = i32x4.replace_lane(lowLift, 3, liftOf(3, bits))
  let highLift = i32x4.splat(liftOf(4, bits))
  highLift = i32x4.replace_lane(highLift, 1, liftOf(5, bits))
  highLift = i32x4.replace_lane(highLift, 2, liftOf(6, bits))
  highLift = i32x4.replace_lane(highLift, 3, liftOf(7, bits))
  const down = 32 - bits
  for (let y = 0; y < rows; y++) {
    let from = src
    let x = 0
    for (; x + 8 <= columns; x += 8) {
      const v = v128.load(from)
      const low = i32x4.shr_u(i32x4.mul(i8x16.swizzle(v, lowBytes), lowLift), down)
      const high = i32x4.shr_u(i32x4.mul(i8x16.swizzle(v, highBytes), highLift), down)
      v128.store(dst + (x << 1), i16x8.narrow_i32x4_u(low, high))
      from += bits
    }
    for (let bit = 0; x < columns; x++, bit += bits) {
      const word = bswap<u32>(load<u32>(from + (bit >> 3))) << (bit & 7)
      store<u16>(dst + (x << 1), <u16>(word >> down))
    }
    src += srcStride
    dst += dstStride
  }
}

export function linearise(dst: usize, dstStride: usize, columns: i32, rows: i32, table: usize, entries: i32): void {
  const last = <u32>(entries - 1)
  for (let y = 0; y < rows; y++) {
    for (let at = dst, end = dst + (<usize>columns << 1); at < end; at += 2)
      store<u16>(at, load<u16>(table + (<usize>min(<u32>load<u16>(at), last) << 1)))
    dst += dstStride
  }
}
