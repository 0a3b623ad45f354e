// Lossless JPEG, fast twin of ljpeg.ts: see there for layouts, formulas and sources.
// Vectors un-stuff and integrate; up to four differences come from one 64-bit load (57 usable bits, at most 12 each);
// two streams are looked up in turn because each lookup waits for the length of the one before. AssemblyScript has no
// macros and one result a function, so that the look-ups, which change three variables each, stand written out.

// @ts-ignore: decorator
@inline const FAST_BITS: u64 = 12
// @ts-ignore: decorator
@inline const LIMITS: usize = 8192
// @ts-ignore: decorator
@inline const PLACES: usize = LIMITS + 68
// @ts-ignore: decorator
@inline const SYMBOLS: usize = PLACES + 68
// @ts-ignore: decorator
@inline const TABLE_BYTES: usize = 8640
// @ts-ignore: decorator
@inline const NOWHERE: u32 = 0x80000000

// @ts-ignore: decorator
@inline
function extended(category: i32, value: i32): i32 {
  if (category == 0) return 0
  if (category == 16) return -32768
  return value < 1 << (category - 1) ? value - (1 << category) + 1 : value
}

function fillFast(at: usize, length: i32, category: i32): void {
  const room = 12 - length
  if (category > room) {
    const entry = (category << 9) | (length << 4)
    for (let k = 0; k < 1 << room; k++) store<i16>(at + (k << 1), <i16>entry)
    return
  }
  const run = 1 << (room - category)
  for (let value = 0; value < 1 << category; value++) {
    const entry = (extended(category, value) << 4) | (length + category)
    for (let k = 0; k < run; k++) {
      store<i16>(at, <i16>entry)
      at += 2
    }
  }
}

export function ljpegTable(huffman: usize, table: usize): void {
  memory.fill(table, 0, SYMBOLS + 256)
  let code = 0
  let place = 0
  for (let length = 1; length <= 16; length++) {
    store<i32>(table + PLACES + (length << 2), place - code)
    const count = <i32>load<u8>(huffman + length - 1)
    for (let k = 0; k < count; k++) {
      const category = <i32>load<u8>(huffman + 16 + place)
      store<u8>(table + SYMBOLS + place, <u8>category)
      if (length <= 12) fillFast(table + ((code << (12 - length)) << 1), length, category)
      code++
      place++
    }
    store<u32>(table + LIMITS + (length << 2), code << (16 - length))
    code <<= 1
  }
}

export function ljpegUnstuff(src: usize, bytes: i32, end: usize): i32 {
  const srcEnd = src + bytes
  let out = end
  const backwards = i8x16(15, 14, 13, 12, 11, 10, 9, 8, 7, 6, 5, 4, 3, 2, 1, 0)
  while (src + 16 <= srcEnd) {
    const chunk = v128.load(src)
    v128.store(out - 16, i8x16.swizzle(chunk, backwards))
    const marks = i8x16.bitmask(i8x16.eq(chunk, i8x16.splat(-1)))
    if (marks == 0) {
      src += 16
      out -= 16
      continue
    }
    // Up to and with the first FF; what was stored beyond it is overwritten by the next round.
    const before = ctz(marks)
    src += before
    out -= before
    if (src + 1 >= srcEnd || load<u8>(src + 1) != 0) {
      zerosBelow(out)
      return <i32>(end - out)
    }
    out -= 1
    src += 2
  }
  while (src < srcEnd) {
    const byte = load<u8>(src)
    if (byte == 0xff && (src + 1 >= srcEnd || load<u8>(src + 1) != 0)) break
    store<u8>(--out, byte)
    src += byte == 0xff ? 2 : 1
  }
  zerosBelow(out)
  return <i32>(end - out)
}

// Zeros below the last byte: what a load past the end finds.
// @ts-ignore: decorator
@inline
function zerosBelow(out: usize): void {
  v128.store(out - 16, i64x2.splat(0))
}

/** At least 57 bits from a position on, at the top; past the end never further than the zeros below the stream. */
// @ts-ignore: decorator
@inline
function ahead(end: usize, bytes: u32, position: u32): u64 {
  return load<u64>(end - 8 - <usize>min(position >> 3, bytes)) << <u64>(position & 7)
}

// @ts-ignore: decorator
@inline
function lookUp(w: u64, table: usize): i32 {
  return <i32>load<i16>(table + (<usize>(w >> 52) << 1))
}

/** Any difference, by way of the fast table or not; stores it at `to` and returns the position after it. */
function anyDifference(end: usize, bytes: u32, position: u32, table: usize, to: usize): u32 {
  const w = ahead(end, bytes, position)
  let entry = lookUp(w, table)
  if (entry & 15) {
    store<u16>(to, <u16>(entry >> 4))
    return position + (entry & 15)
  }
  if (entry == 0) {
    const word = <u32>(w >> 48)
    for (let length: u32 = 13; length <= 16; length++) {
      if (word < load<u32>(table + LIMITS + (length << 2))) {
        const place = (word >> (16 - length)) + load<u32>(table + PLACES + (length << 2))
        entry = (<i32>load<u8>(table + SYMBOLS + place) << 9) | (length << 4)
        break
      }
    }
  }
  const category = entry >> 9
  const length = (entry >> 4) & 31
  const extra = category == 16 ? 0 : category
  const value = extra == 0 ? 0 : <i32>((w << <u64>length) >> <u64>(64 - extra))
  store<u16>(to, <u16>extended(category, value))
  return entry == 0 ? NOWHERE : position + length + extra
}

export function ljpegLines(
  stream: usize,
  width: i32,
  components: i32,
  predictor: i32,
  initial: i32,
  lines: i32,
  stride: i32,
): i32 {
  const end = <usize>load<u32>(stream)
  const bits = load<u32>(stream, 4)
  const bytes = bits >> 3
  let position = load<u32>(stream, 8)
  let row = <usize>load<u32>(stream, 12)
  const tables = <usize>load<u32>(stream, 16)
  const samples = width * components
  // The tables of four samples in a row; three components do not come round in four and go one by one.
  const t0 = tables
  const t1 = components == 1 ? tables : tables + TABLE_BYTES
  const t2 = components == 4 ? tables + 2 * TABLE_BYTES : t0
  const t3 = components == 4 ? tables + 3 * TABLE_BYTES : t1
  const inFours = components == 3 ? 0 : samples & ~3
  let line = 0
  for (; line < lines; line++) {
    let at = row
    let i = 0
    for (; i < inFours; i += 4) {
      let w = ahead(end, bytes, position)
      let entry = lookUp(w, t0)
      if (entry & 15) {
        store<u16>(at, <u16>(entry >> 4))
        position += entry & 15
        w <<= <u64>(entry & 15)
      } else {
        position = anyDifference(end, bytes, position, t0, at)
        w = ahead(end, bytes, position)
      }
      entry = lookUp(w, t1)
      if (entry & 15) {
        store<u16>(at, <u16>(entry >> 4), 2)
        position += entry & 15
        w <<= <u64>(entry & 15)
      } else {
        position = anyDifference(end, bytes, position, t1, at + 2)
        w = ahead(end, bytes, position)
      }
      entry = lookUp(w, t2)
      if (entry & 15) {
        store<u16>(at, <u16>(entry >> 4), 4)
        position += entry & 15
        w <<= <u64>(entry & 15)
      } else {
        position = anyDifference(end, bytes, position, t2, at + 4)
        w = ahead(end, bytes, position)
      }
      entry = lookUp(w, t3)
      if (entry & 15) {
        store<u16>(at, <u16>(entry >> 4), 6)
        position += entry & 15
      } else position = anyDifference(end, bytes, position, t3, at + 6)
      at += 8
    }
    for (; i < samples; i++) {
      position = anyDifference(end, bytes, position, tables + <usize>(i % components) * TABLE_BYTES, at)
      at += 2
    }
    if (position > bits) break
    addPredictions(row, line == 0 ? 0 : row - stride, samples, components, predictor, initial)
    row += stride
  }
  store<u32>(stream, position, 8)
  return line
}

export function ljpegLinesOfTwo(
  streamA: usize,
  streamB: usize,
  width: i32,
  predictor: i32,
  initial: i32,
  lines: i32,
  stride: i32,
): i32 {
  const endA = <usize>load<u32>(streamA)
  const endB = <usize>load<u32>(streamB)
  const bitsA = load<u32>(streamA, 4)
  const bitsB = load<u32>(streamB, 4)
  const bytesA = bitsA >> 3
  const bytesB = bitsB >> 3
  let positionA = load<u32>(streamA, 8)
  let positionB = load<u32>(streamB, 8)
  let rowA = <usize>load<u32>(streamA, 12)
  let rowB = <usize>load<u32>(streamB, 12)
  const tableA = <usize>load<u32>(streamA, 16)
  const tableB = <usize>load<u32>(streamB, 16)
  let line = 0
  for (; line < lines; line++) {
    let a = rowA
    let b = rowB
    // Two pixels, four samples, of each stream.
    for (let i = 1; i < width; i += 2) {
      let wA = ahead(endA, bytesA, positionA)
      let wB = ahead(endB, bytesB, positionB)
      let entryA = lookUp(wA, tableA)
      let entryB = lookUp(wB, tableB)
      if (entryA & 15) {
        store<u16>(a, <u16>(entryA >> 4))
        positionA += entryA & 15
        wA <<= <u64>(entryA & 15)
      } else {
        positionA = anyDifference(endA, bytesA, positionA, tableA, a)
        wA = ahead(endA, bytesA, positionA)
      }
      if (entryB & 15) {
        store<u16>(b, <u16>(entryB >> 4))
        positionB += entryB & 15
        wB <<= <u64>(entryB & 15)
      } else {
        positionB = anyDifference(endB, bytesB, positionB, tableB, b)
        wB = ahead(endB, bytesB, positionB)
      }
      entryA = lookUp(wA, tableA + TABLE_BYTES)
      entryB = lookUp(wB, tableB + TABLE_BYTES)
      if (entryA & 15) {
        store<u16>(a, <u16>(entryA >> 4), 2)
        positionA += entryA & 15
        wA <<= <u64>(entryA & 15)
      } else {
        positionA = anyDifference(endA, bytesA, positionA, tableA + TABLE_BYTES, a + 2)
        wA = ahead(endA, bytesA, positionA)
      }
      if (entryB & 15) {
        store<u16>(b, <u16>(entryB >> 4), 2)
        positionB += entryB & 15
        wB <<= <u64>(entryB & 15)
      } else {
        positionB = anyDifference(endB, bytesB, positionB, tableB + TABLE_BYTES, b + 2)
        wB = ahead(endB, bytesB, positionB)
      }
      entryA = lookUp(wA, tableA)
      entryB = lookUp(wB, tableB)
      if (entryA & 15) {
        store<u16>(a, <u16>(entryA >> 4), 4)
        positionA += entryA & 15
        wA <<= <u64>(entryA & 15)
      } else {
        positionA = anyDifference(endA, bytesA, positionA, tableA, a + 4)
        wA = ahead(endA, bytesA, positionA)
      }
      if (entryB & 15) {
        store<u16>(b, <u16>(entryB >> 4), 4)
        positionB += entryB & 15
        wB <<= <u64>(entryB & 15)
      } else {
        positionB = anyDifference(endB, bytesB, positionB, tableB, b + 4)
        wB = ahead(endB, bytesB, positionB)
      }
      entryA = lookUp(wA, tableA + TABLE_BYTES)
      entryB = lookUp(wB, tableB + TABLE_BYTES)
      if (entryA & 15) {
        store<u16>(a, <u16>(entryA >> 4), 6)
        positionA += entryA & 15
      } else positionA = anyDifference(endA, bytesA, positionA, tableA + TABLE_BYTES, a + 6)
      if (entryB & 15) {
        store<u16>(b, <u16>(entryB >> 4), 6)
        positionB += entryB & 15
      } else positionB = anyDifference(endB, bytesB, positionB, tableB + TABLE_BYTES, b + 6)
      a += 8
      b += 8
    }
    if (width & 1) {
      positionA = anyDifference(endA, bytesA, positionA, tableA, a)
      positionA = anyDifference(endA, bytesA, positionA, tableA + TABLE_BYTES, a + 2)
      positionB = anyDifference(endB, bytesB, positionB, tableB, b)
      positionB = anyDifference(endB, bytesB, positionB, tableB + TABLE_BYTES, b + 2)
    }
    if (positionA > bitsA || positionB > bitsB) break
    addPredictions(rowA, line == 0 ? 0 : rowA - stride, width << 1, 2, predictor, initial)
    addPredictions(rowB, line == 0 ? 0 : rowB - stride, width << 1, 2, predictor, initial)
    rowA += stride
    rowB += stride
  }
  store<u32>(streamA, positionA, 8)
  store<u32>(streamB, positionB, 8)
  return line
}

// Differences to samples in place; `above` is 0 for the first line.
function addPredictions(
  row: usize,
  above: usize,
  samples: i32,
  components: i32,
  predictor: i32,
  initial: i32,
): void {
  const pixel = <usize>components << 1
  for (let c: usize = 0; c < pixel; c += 2)
    store<u16>(row + c, load<u16>(row + c) + (above ? load<u16>(above + c) : <u16>initial))
  const end = row + (<usize>samples << 1)
  if (above == 0 || predictor == 1) return sumUp(row, end, components)
  const distance = row - above
  for (let c: usize = 0; c < pixel; c += 2) {
    if (predictor == 2) addNeighbours(2, row + c, end, pixel, distance)
    else if (predictor == 3) addNeighbours(3, row + c, end, pixel, distance)
    else if (predictor == 4) addNeighbours(4, row + c, end, pixel, distance)
    else if (predictor == 5) addNeighbours(5, row + c, end, pixel, distance)
    else if (predictor == 6) addNeighbours(6, row + c, end, pixel, distance)
    else addNeighbours(7, row + c, end, pixel, distance)
  }
}

// The first pixel is done; every later sample is its difference plus the prediction from its neighbours.
// @ts-ignore: decorator
@inline
function addNeighbours(predictor: i32, first: usize, end: usize, pixel: usize, distance: usize): void {
  let a = <i32>load<u16>(first)
  let c = <i32>load<u16>(first - distance)
  for (let at = first + pixel; at < end; at += pixel) {
    const b = <i32>load<u16>(at - distance)
    let prediction = b
    if (predictor == 3) prediction = c
    else if (predictor == 4) prediction = a + b - c
    else if (predictor == 5) prediction = a + ((b - c) >> 1)
    else if (predictor == 6) prediction = b + ((a - c) >> 1)
    else if (predictor == 7) prediction = (a + b) >> 1
    a = (prediction + <i32>load<u16>(at)) & 0xffff
    store<u16>(at, <u16>a)
    c = b
  }
}

// Running sums of each component: within eight samples by doubling steps, then the last pixel before them added.
function sumUp(row: usize, end: usize, components: i32): void {
  const zero = i64x2.splat(0)
  let at = row
  if (components != 3) {
    let last = zero
    for (; at + 16 <= end; at += 16) {
      let v = v128.load(at)
      if (components == 1) v = i16x8.add(v, v128.shuffle<i16>(zero, v, 7, 8, 9, 10, 11, 12, 13, 14))
      if (components <= 2) v = i16x8.add(v, v128.shuffle<i16>(zero, v, 6, 7, 8, 9, 10, 11, 12, 13))
      v = i16x8.add(v, v128.shuffle<i16>(zero, v, 4, 5, 6, 7, 8, 9, 10, 11))
      v = i16x8.add(v, last)
      v128.store(at, v)
      last =
        components == 1
          ? v128.shuffle<i16>(v, v, 7, 7, 7, 7, 7, 7, 7, 7)
          : components == 2
            ? v128.shuffle<i16>(v, v, 6, 7, 6, 7, 6, 7, 6, 7)
            : v128.shuffle<i16>(v, v, 4, 5, 6, 7, 4, 5, 6, 7)
    }
  }
  const pixel = <usize>components << 1
  if (at == row) at += pixel
  for (; at < end; at += 2) store<u16>(at, load<u16>(at) + load<u16>(at - pixel))
}
