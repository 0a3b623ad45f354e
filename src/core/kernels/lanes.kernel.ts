// Vector parts that several kernels share; imported by them, compiled into them, and exported by none.

// @ts-ignore: decorator
@inline
export function lanes(c: f32): v128 {
  return f32x4.splat(c)
}

// @ts-ignore: decorator
@inline
export function muladd(a: v128, b: v128, c: v128): v128 {
  return f32x4.add(f32x4.mul(a, b), c)
}

// @ts-ignore: decorator
@inline
export function sum4(v: v128): f32 {
  return (
    f32x4.extract_lane(v, 0) + f32x4.extract_lane(v, 1) + (f32x4.extract_lane(v, 2) + f32x4.extract_lane(v, 3))
  )
}

/** The first `count` lanes: rows are unpadded and the next one may be another thread's, so never past the width. */
// @ts-ignore: decorator
@inline
export function storeFirst(at: usize, v: v128, count: i32): void {
  if (count >= 4) {
    v128.store(at, v)
    return
  }
  store<f32>(at, f32x4.extract_lane(v, 0))
  if (count > 1) store<f32>(at, f32x4.extract_lane(v, 1), 4)
  if (count > 2) store<f32>(at, f32x4.extract_lane(v, 2), 8)
}

// 1.5 · 2^23: a number up to 2^22 added to it is rounded to a whole one, which then stands in the lowest bits. Two
// instructions, where conversion to integers with saturation takes six.
export const ROUNDING: f32 = 12582912
