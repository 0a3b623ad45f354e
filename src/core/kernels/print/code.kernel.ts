// Display light to codes, eight and sixteen bits. The definition, the formulas and their sources are in print.ts and
// dither.ts. Same arithmetic in 32-bit floats; the transfer function by the short form named below.

import { lanes, muladd, ROUNDING } from '../lanes.kernel'

// The sRGB transfer function above its toe is a polynomial in the fourth root here, fitted for the least largest
// error: of degree 4, 3.5e-5 (0.009 of an 8-bit code), or 6, 1.8e-6 (an eighth of a 16-bit code).
// @ts-ignore: decorator
@inline
function encode8(linear: v128): v128 {
  const v = f32x4.pmax(lanes(0), linear)
  const u = f32x4.sqrt(f32x4.sqrt(v))
  let p = muladd(lanes(<f32>0.081332246), u, lanes(<f32>-0.33550744))
  p = muladd(p, u, lanes(<f32>1.1226871))
  p = muladd(p, u, lanes(<f32>0.1961337))
  p = muladd(p, u, lanes(<f32>-0.064611232))
  return v128.bitselect(f32x4.mul(v, lanes(<f32>12.92)), p, f32x4.le(v, lanes(<f32>0.0031308)))
}

// @ts-ignore: decorator
@inline
function encode16(linear: v128): v128 {
  const v = f32x4.pmax(lanes(0), linear)
  const u = f32x4.sqrt(f32x4.sqrt(v))
  let p = muladd(lanes(<f32>0.0648733212), u, lanes(<f32>-0.306036986))
  p = muladd(p, u, lanes(<f32>0.638769462))
  p = muladd(p, u, lanes(<f32>-0.838965334))
  p = muladd(p, u, lanes(<f32>1.36022559))
  p = muladd(p, u, lanes(<f32>0.140776781))
  p = muladd(p, u, lanes(<f32>-0.0596417498))
  const full = v128.bitselect(f32x4.mul(v, lanes(<f32>12.92)), p, f32x4.le(v, lanes(<f32>0.0031308)))
  return f32x4.pmin(lanes(1), full)
}

// Dither from the position, as in dither.ts; `turn` is the 32-bit phase of the four pixels. Its upper 23 bits as the
// mantissa of 1 … 2, less 1.5, are the phase less a half: floor(x + phase) = round(x + phase − 1/2).
// @ts-ignore: decorator
@inline
function code8(at: usize, turn: v128): v128 {
  const phase = f32x4.sub(v128.or(i32x4.shr_u(turn, 9), lanes(1)), lanes(<f32>1.5))
  const rounded = f32x4.add(muladd(encode8(v128.load(at)), lanes(255), phase), lanes(ROUNDING))
  return v128.and(rounded, i32x4.splat(0xffff))
}

// Sixteen codes of one channel, x the first pixel.
// @ts-ignore: decorator
@inline
function codes8(row: usize, x: i32, turn: i32): v128 {
  const at = row + (<usize>x << 2)
  const column: i32 = -1052792407
  const t0 = i32x4.add(
    i32x4.splat(turn + x * column),
    i32x4(0, -1052792407, -2105584814, 1136590075),
  )
  const four = i32x4.splat(column * 4)
  const t1 = i32x4.add(t0, four)
  const t2 = i32x4.add(t1, four)
  const t3 = i32x4.add(t2, four)
  return i8x16.narrow_i16x8_u(
    i16x8.narrow_i32x4_s(code8(at, t0), code8(at + 16, t1)),
    i16x8.narrow_i32x4_s(code8(at + 32, t2), code8(at + 48, t3)),
  )
}

// @ts-ignore: decorator
@inline
function storeFirst(out: usize, v: v128, bytes: i32): void {
  for (let i = 0; i < min(bytes, 16); i++) {
    store<u8>(out + <usize>i, i8x16.extract_lane_u(v128.swizzle(v, i8x16.splat(<i8>i)), 0))
  }
}

export function printCode8(rAt: usize, gAt: usize, bAt: usize, width: i32, y: i32, out: usize): void {
  const row: i32 = y * -1847521882
  const third: i32 = 1431655765
  for (let x = 0; x < width; x += 16) {
    const r = codes8(rAt, x, row)
    const g = codes8(gAt, x, row + third)
    const b = codes8(bAt, x, row + third * 2)
    // Bytes r0 g0 b0 r1 … : red and green first, then blue into the gaps.
    const rg0 = v128.shuffle<i8>(r, g, 0, 16, 0, 1, 17, 0, 2, 18, 0, 3, 19, 0, 4, 20, 0, 5)
    const rg1 = v128.shuffle<i8>(r, g, 21, 0, 6, 22, 0, 7, 23, 0, 8, 24, 0, 9, 25, 0, 10, 26)
    const rg2 = v128.shuffle<i8>(r, g, 0, 11, 27, 0, 12, 28, 0, 13, 29, 0, 14, 30, 0, 15, 31, 0)
    const o0 = v128.shuffle<i8>(rg0, b, 0, 1, 16, 3, 4, 17, 6, 7, 18, 9, 10, 19, 12, 13, 20, 15)
    const o1 = v128.shuffle<i8>(rg1, b, 0, 21, 2, 3, 22, 5, 6, 23, 8, 9, 24, 11, 12, 25, 14, 15)
    const o2 = v128.shuffle<i8>(rg2, b, 26, 1, 2, 27, 4, 5, 28, 7, 8, 29, 10, 11, 30, 13, 14, 31)
    if (width - x >= 16) {
      v128.store(out, o0)
      v128.store(out, o1, 16)
      v128.store(out, o2, 32)
      out += 48
    } else {
      const bytes = (width - x) * 3
      storeFirst(out, o0, bytes)
      storeFirst(out + 16, o1, bytes - 16)
      storeFirst(out + 32, o2, bytes - 32)
    }
  }
}

// @ts-ignore: decorator
@inline
function code16(at: usize): v128 {
  const rounded = muladd(encode16(v128.load(at)), lanes(65535), lanes(ROUNDING))
  return v128.and(rounded, i32x4.splat(0xffff))
}

export function printCode16(rAt: usize, gAt: usize, bAt: usize, width: i32, out: usize): void {
  for (let x = 0; x < width; x += 4) {
    const at = <usize>x << 2
    const rg = v128.or(code16(rAt + at), i32x4.shl(code16(gAt + at), 16))
    const b = code16(bAt + at)
    const n = width - x
    v128.store32_lane(out, rg, 0)
    v128.store16_lane(out, b, 0, 4)
    if (n > 1) {
      v128.store32_lane(out, rg, 1, 6)
      v128.store16_lane(out, b, 2, 10)
    }
    if (n > 2) {
      v128.store32_lane(out, rg, 2, 12)
      v128.store16_lane(out, b, 4, 16)
    }
    if (n > 3) {
      v128.store32_lane(out, rg, 3, 18)
      v128.store16_lane(out, b, 6, 22)
    }
    out += 24
  }
}
