// Float to half, eight at a time. Same rounding as the plain twin; see half.ts for the definition and source.
// Trick: for normals the bit pattern is re-biased and rounded with integers; for subnormals a float addition of 0.5
// places the value so that the hardware's own rounding to nearest even leaves the half's bits in the low mantissa.

// @ts-ignore: decorator
@inline
function halfBits(v: v128): v128 {
  const sign = v128.and(i32x4.shr_u(v, 16), i32x4.splat(0x8000))
  const m = v128.and(v, i32x4.splat(0x7fffffff))
  const odd = v128.and(i32x4.shr_u(m, 13), i32x4.splat(1))
  const normal = i32x4.shr_u(i32x4.sub(i32x4.add(i32x4.add(m, i32x4.splat(0xfff)), odd), i32x4.splat(0x38000000)), 13)
  const magic = i32x4.splat(0x3f000000)
  const subnormal = i32x4.sub(f32x4.add(m, magic), magic)
  let r = v128.bitselect(subnormal, normal, i32x4.lt_s(m, i32x4.splat(0x38800000)))
  r = v128.bitselect(i32x4.splat(0x7c00), r, i32x4.ge_s(m, i32x4.splat(0x47800000)))
  r = v128.bitselect(i32x4.splat(0x7e00), r, i32x4.gt_s(m, i32x4.splat(0x7f800000)))
  return v128.or(r, sign)
}

export function floatToHalf(src: usize, dst: usize, n: i32): void {
  for (let i = 0; i < n; i += 8) {
    const a = halfBits(v128.load(src))
    const b = halfBits(v128.load(src + 16))
    v128.store(dst, i16x8.narrow_i32x4_u(a, b))
    src += 32
    dst += 16
  }
}
