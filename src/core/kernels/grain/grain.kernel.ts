// Noise of blocks; see grain.ts for the definition. A vector holds two samples of each phase of a row, or the four phases.

const FLOATS: usize = 80

export function grainBlocks(src: usize, width: i32, x: i32, y: i32, stride: i32, count: i32, dst: usize): void {
  const row = <usize>width << 1
  for (let k = 0; k < count; k++) {
    const from = src + ((<usize>(y * width + x + k * stride)) << 1)
    levels(from, row, dst)
    const even = fineOf(from, row)
    const odd = fineOf(from + row, row)
    const fine = f32x4.add(v128.shuffle<i32>(even, odd, 0, 1, 4, 5), v128.shuffle<i32>(even, odd, 2, 3, 6, 7))
    v128.store(dst, f32x4.mul(fine, f32x4.splat(<f32>(1.0 / 7056.0))), 16)
    v128.store(dst, f32x4.mul(coarseOf(from, row), f32x4.splat(<f32>(1.0 / 5184.0))), 32)
    dst += FLOATS
  }
}

/** Means, lowest and highest samples. */
// @ts-ignore: decorator
@inline
function levels(from: usize, row: usize, dst: usize): void {
  let sum = i32x4.splat(0)
  let lowEven = i16x8.splat(-1)
  let highEven = i16x8.splat(0)
  let lowOdd = lowEven
  let highOdd = highEven
  for (let r: usize = 0; r < 32; r += 2) {
    const p = from + r * row
    const q = p + row
    let above = i32x4.splat(0)
    let below = i32x4.splat(0)
    for (let c: usize = 0; c < 64; c += 16) {
      const u = v128.load(p + c)
      const v = v128.load(q + c)
      lowEven = i16x8.min_u(lowEven, u)
      highEven = i16x8.max_u(highEven, u)
      lowOdd = i16x8.min_u(lowOdd, v)
      highOdd = i16x8.max_u(highOdd, v)
      above = i32x4.add(above, i32x4.add(i32x4.extend_low_i16x8_u(u), i32x4.extend_high_i16x8_u(u)))
      below = i32x4.add(below, i32x4.add(i32x4.extend_low_i16x8_u(v), i32x4.extend_high_i16x8_u(v)))
    }
    // Lanes 0 and 2 are one phase, 1 and 3 the other.
    sum = i32x4.add(
      sum,
      i32x4.add(v128.shuffle<i32>(above, below, 0, 1, 4, 5), v128.shuffle<i32>(above, below, 2, 3, 6, 7)),
    )
  }
  v128.store(dst, f32x4.mul(f32x4.convert_i32x4_s(sum), f32x4.splat(<f32>(1.0 / 256.0))))
  store<f32>(dst, <f32>low(lowEven), 48)
  store<f32>(dst, <f32>low(i16x8.shuffle(lowEven, lowEven, 1, 0, 3, 2, 5, 4, 7, 6)), 52)
  store<f32>(dst, <f32>low(lowOdd), 56)
  store<f32>(dst, <f32>low(i16x8.shuffle(lowOdd, lowOdd, 1, 0, 3, 2, 5, 4, 7, 6)), 60)
  store<f32>(dst, <f32>high(highEven), 64)
  store<f32>(dst, <f32>high(i16x8.shuffle(highEven, highEven, 1, 0, 3, 2, 5, 4, 7, 6)), 68)
  store<f32>(dst, <f32>high(highOdd), 72)
  store<f32>(dst, <f32>high(i16x8.shuffle(highOdd, highOdd, 1, 0, 3, 2, 5, 4, 7, 6)), 76)
}

/** Squares of the mask summed over the rows of one parity; lanes 0 and 2 belong to even columns. */
// @ts-ignore: decorator
@inline
function fineOf(from: usize, row: usize): v128 {
  let sum = f32x4.splat(0)
  const twoRows = row << 1
  for (let c: usize = 0; c < 56; c += 8) {
    let p = from + c
    let a = across(p)
    p += twoRows
    let b = across(p)
    for (let r = 2; r < 16; r++) {
      p += twoRows
      const d = across(p)
      const h = f32x4.convert_i32x4_s(i32x4.add(i32x4.sub(a, i32x4.shl(b, 1)), d))
      sum = f32x4.add(sum, f32x4.mul(h, h))
      a = b
      b = d
    }
  }
  return sum
}

// @ts-ignore: decorator
@inline
function across(p: usize): v128 {
  const a = v128.load_ext<u16>(p)
  const b = v128.load_ext<u16>(p, 4)
  const c = v128.load_ext<u16>(p, 8)
  return i32x4.add(i32x4.sub(a, i32x4.shl(b, 1)), c)
}

/** The same from sums of 2 × 2 samples; the four phases are the lanes. */
// @ts-ignore: decorator
@inline
function coarseOf(from: usize, row: usize): v128 {
  let sum = f32x4.splat(0)
  const fourRows = row << 2
  // Row by row of residuals, so that the sum runs in the order of the definition.
  for (let r = 0; r < 6; r++) {
    const p = from + <usize>r * fourRows
    let a = downOf(p, row, fourRows)
    let b = downOf(p + 8, row, fourRows)
    for (let c: usize = 2; c < 8; c++) {
      const d = downOf(p + (c << 3), row, fourRows)
      const h = f32x4.convert_i32x4_s(i32x4.add(i32x4.sub(a, i32x4.shl(b, 1)), d))
      sum = f32x4.add(sum, f32x4.mul(h, h))
      a = b
      b = d
    }
  }
  return sum
}

/** Second difference down three sums of 2 × 2 samples of each phase. */
// @ts-ignore: decorator
@inline
function downOf(p: usize, row: usize, fourRows: usize): v128 {
  const a = sumOf(p, row)
  const b = sumOf(p + fourRows, row)
  const c = sumOf(p + 2 * fourRows, row)
  return i32x4.add(i32x4.sub(a, i32x4.shl(b, 1)), c)
}

// @ts-ignore: decorator
@inline
function sumOf(p: usize, row: usize): v128 {
  const even = i32x4.add(v128.load_ext<u16>(p), v128.load_ext<u16>(p + 2 * row))
  const odd = i32x4.add(v128.load_ext<u16>(p + row), v128.load_ext<u16>(p + 3 * row))
  return i32x4.add(v128.shuffle<i32>(even, odd, 0, 1, 4, 5), v128.shuffle<i32>(even, odd, 2, 3, 6, 7))
}

/** The lowest of lanes 0, 2, 4 and 6. */
// @ts-ignore: decorator
@inline
function low(v: v128): i32 {
  return min(
    min(<i32>i16x8.extract_lane_u(v, 0), <i32>i16x8.extract_lane_u(v, 2)),
    min(<i32>i16x8.extract_lane_u(v, 4), <i32>i16x8.extract_lane_u(v, 6)),
  )
}

// @ts-ignore: decorator
@inline
function high(v: v128): i32 {
  return max(
    max(<i32>i16x8.extract_lane_u(v, 0), <i32>i16x8.extract_lane_u(v, 2)),
    max(<i32>i16x8.extract_lane_u(v, 4), <i32>i16x8.extract_lane_u(v, 6)),
  )
}
