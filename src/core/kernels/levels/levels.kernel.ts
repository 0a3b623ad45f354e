// Counting of levels and the quarter-size picture; see levels.ts for the definition.

const BINS: usize = 4096
const LAST: u32 = 4095

export function countClipped(src: usize, width: i32, y0: i32, y1: i32, limits: usize, counts: usize): void {
  for (let y = y0; y < y1; y++) {
    const both = load<u32>(limits + (<usize>(y & 1) << 2))
    const bar = i32x4.splat(both)
    let p = src + ((<usize>(y * width)) << 1)
    let even: u32 = 0
    let odd: u32 = 0
    let x = 0
    while (x + 8 <= width) {
      // A lane holds one for each 8 columns: emptied before it can run over.
      const stop = min(width - 7, x + 8 * 30_000)
      let sum = i16x8.splat(0)
      for (; x < stop; x += 8) {
        sum = i16x8.sub(sum, i16x8.ge_u(v128.load(p), bar))
        p += 16
      }
      const evens = v128.and(sum, i32x4.splat(0xffff))
      const odds = i32x4.shr_u(sum, 16)
      even += total(evens)
      odd += total(odds)
    }
    for (; x < width; x++) {
      const over: u32 = <u32>load<u16>(p) >= (x & 1 ? both >>> 16 : both & 0xffff) ? 1 : 0
      if (x & 1) odd += over
      else even += over
      p += 2
    }
    const at = counts + (<usize>(y & 1) << 3)
    store<u32>(at, load<u32>(at) + even)
    store<u32>(at, load<u32>(at, 4) + odd, 4)
  }
}

export function countLevels(src: usize, width: i32, y0: i32, y1: i32, step: i32, shift: i32, tables: usize): void {
  const half = width >> 1
  const t1 = tables + (BINS << 2)
  const t2 = t1 + (BINS << 2)
  const t3 = t2 + (BINS << 2)
  const t4 = t3 + (BINS << 2)
  for (let y = y0; y < y1; y += step) {
    let p = src + ((<usize>(2 * y * width)) << 1)
    let q = p + (<usize>width << 1)
    for (let x = 0; x < half; x++) {
      const upper = load<u32>(p)
      const lower = load<u32>(q)
      const a = upper & 0xffff
      const b = upper >>> 16
      const c = lower & 0xffff
      const d = lower >>> 16
      add(tables, a >>> shift)
      add(t1, b >>> shift)
      add(t2, c >>> shift)
      add(t3, d >>> shift)
      add(t4, (a + b + c + d) >>> (shift + 2))
      p += 4
      q += 4
    }
  }
}

export function quarterRows(src: usize, width: i32, y0: i32, y1: i32, dst: usize, blackSum: f32, gain: f32, offset: f32): void {
  const quarter = width >> 2
  const row = <usize>width << 1
  const black = f32x4.splat(blackSum)
  const g = f32x4.splat(gain)
  const o = f32x4.splat(offset)
  const zero = f32x4.splat(0)
  for (let y = y0; y < y1; y++) {
    let p = src + ((<usize>(4 * y * width)) << 1)
    let d = dst + ((<usize>(y * quarter)) << 2)
    let x = 0
    for (; x + 4 <= quarter; x += 4) {
      const a = fourRows(p, row)
      const b = fourRows(p + 16, row)
      const sum = i32x4.add(v128.shuffle<i32>(a, b, 0, 2, 4, 6), v128.shuffle<i32>(a, b, 1, 3, 5, 7))
      const scaled = f32x4.add(f32x4.mul(f32x4.sub(f32x4.convert_i32x4_s(sum), black), g), o)
      v128.store(d, f32x4.sqrt(f32x4.pmax(zero, scaled)))
      p += 32
      d += 16
    }
    for (; x < quarter; x++) {
      let sum = 0
      for (let j: usize = 0; j < 4; j++)
        for (let i: usize = 0; i < 4; i++) sum += <i32>load<u16>(p + j * row + (i << 1))
      const scaled = (<f32>sum - blackSum) * gain + offset
      store<f32>(d, <f32>Math.sqrt(<f64>max<f32>(0, scaled)))
      p += 8
      d += 4
    }
  }
}

/** Sums of pairs of eight columns over four rows. */
// @ts-ignore: decorator
@inline
function fourRows(p: usize, row: usize): v128 {
  const upper = i32x4.add(
    i32x4.extadd_pairwise_i16x8_u(v128.load(p)),
    i32x4.extadd_pairwise_i16x8_u(v128.load(p + row)),
  )
  const lower = i32x4.add(
    i32x4.extadd_pairwise_i16x8_u(v128.load(p + 2 * row)),
    i32x4.extadd_pairwise_i16x8_u(v128.load(p + 3 * row)),
  )
  return i32x4.add(upper, lower)
}

// @ts-ignore: decorator
@inline
function add(table: usize, bin: u32): void {
  const at = table + (<usize>min<u32>(bin, LAST) << 2)
  store<u32>(at, load<u32>(at) + 1)
}

// @ts-ignore: decorator
@inline
function total(v: v128): u32 {
  return i32x4.extract_lane(v, 0) + i32x4.extract_lane(v, 1) + i32x4.extract_lane(v, 2) + i32x4.extract_lane(v, 3)
}
