// Camera values to working colours, four pixels at a time; see working.ts for the definition. Same order of operations.
import { storeFirst } from '../lanes.kernel'

// @ts-ignore: decorator
@inline
function mix(numbers: usize, u: v128, v: v128, w: v128): v128 {
  return f32x4.add(
    f32x4.add(f32x4.mul(v128.load32_splat(numbers), u), f32x4.mul(v128.load32_splat(numbers, 4), v)),
    f32x4.mul(v128.load32_splat(numbers, 8), w),
  )
}

export function workingRow(red: usize, green: usize, blue: usize, n: i32, numbers: usize): void {
  const zero = f32x4.splat(0)
  const one = f32x4.splat(1)
  const three = f32x4.splat(3)
  const low = v128.load32_splat(numbers, 12)
  const span = f32x4.sub(v128.load32_splat(numbers, 16), low)
  for (let i = 0; i < n; i += 4) {
    const at = <usize>i << 2
    const r = v128.load(red + at)
    const g = v128.load(green + at)
    const b = v128.load(blue + at)
    const s = f32x4.pmin(one, f32x4.pmax(zero, f32x4.div(f32x4.sub(f32x4.pmax(f32x4.pmax(r, g), b), low), span)))
    const t = f32x4.mul(f32x4.mul(s, s), f32x4.sub(three, f32x4.add(s, s)))
    let u = f32x4.mul(r, v128.load32_splat(numbers))
    let v = f32x4.mul(g, v128.load32_splat(numbers, 4))
    let w = f32x4.mul(b, v128.load32_splat(numbers, 8))
    const top = f32x4.pmax(f32x4.pmax(u, v), w)
    u = f32x4.add(u, f32x4.mul(t, f32x4.sub(top, u)))
    v = f32x4.add(v, f32x4.mul(t, f32x4.sub(top, v)))
    w = f32x4.add(w, f32x4.mul(t, f32x4.sub(top, w)))
    storeFirst(red + at, mix(numbers + 20, u, v, w), n - i)
    storeFirst(green + at, mix(numbers + 32, u, v, w), n - i)
    storeFirst(blue + at, mix(numbers + 44, u, v, w), n - i)
  }
}
