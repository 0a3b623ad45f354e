// Gains along a row, four columns at a time; see shade.ts for the definition. The same operations in the same order.

export function gainLine(gains: usize, first: i32, pitch: i32, count: i32, nodes: usize, columns: usize): void {
  let at = gains + (<usize>first << 2)
  const step = <usize>pitch << 2
  const end = columns + (<usize>count << 3)
  for (; columns < end; columns += 8) {
    const node = nodes + (<usize>load<i32>(columns) << 2)
    const low = load<f32>(node)
    const gain = low + (load<f32>(node, 4) - low) * load<f32>(columns, 4)
    store<f32>(at, load<f32>(at) * gain)
    at += step
  }
}

export function vignetteLine(gains: usize, n: i32, start: f32, inverse: f32, dy2: f32, terms: usize): void {
  const k0 = v128.load32_splat(terms)
  const k1 = v128.load32_splat(terms, 4)
  const k2 = v128.load32_splat(terms, 8)
  const k3 = v128.load32_splat(terms, 12)
  const k4 = v128.load32_splat(terms, 16)
  const s = f32x4.splat(start)
  const m = f32x4.splat(inverse)
  const y = f32x4.splat(dy2)
  const one = f32x4.splat(1)
  let column = f32x4(0, 1, 2, 3)
  for (let i = 0; i < n; i += 4) {
    const dx = f32x4.mul(f32x4.add(column, s), m)
    const r2 = f32x4.pmin(one, f32x4.add(f32x4.mul(dx, dx), y))
    let g = f32x4.add(k3, f32x4.mul(r2, k4))
    g = f32x4.add(k2, f32x4.mul(r2, g))
    g = f32x4.add(k1, f32x4.mul(r2, g))
    g = f32x4.add(k0, f32x4.mul(r2, g))
    v128.store(gains, f32x4.add(one, f32x4.mul(r2, g)))
    gains += 16
    column = f32x4.add(column, f32x4.splat(4))
  }
}

export function shadeRow(values: usize, variance: usize, gains: usize, n: i32): void {
  const bytes = <usize>n << 2
  const whole = bytes & ~15
  for (let i: usize = 0; i < whole; i += 16) v128.store(values + i, f32x4.mul(v128.load(values + i), v128.load(gains + i)))
  // The last columns one by one: the next row begins right behind them and another worker may be at it.
  for (let i = whole; i < bytes; i += 4) store<f32>(values + i, load<f32>(values + i) * load<f32>(gains + i))
  if (variance == 0) return
  for (let i: usize = 0; i < whole; i += 16) {
    const g = v128.load(gains + i)
    v128.store(variance + i, f32x4.mul(v128.load(variance + i), f32x4.mul(g, g)))
  }
  for (let i = whole; i < bytes; i += 4) {
    const g = load<f32>(gains + i)
    store<f32>(variance + i, load<f32>(variance + i) * (g * g))
  }
}

// @ts-ignore: decorator
@inline
function rounded(codes: v128, gains: v128): v128 {
  const v = f32x4.add(f32x4.mul(f32x4.convert_i32x4_u(codes), gains), f32x4.splat(0.5))
  return i32x4.trunc_sat_f32x4_s(f32x4.floor(v))
}

export function shadeCodes(codes: usize, gains: usize, n: i32): void {
  let i = 0
  for (; i + 8 <= n; i += 8) {
    const c = v128.load(codes)
    const low = rounded(i32x4.extend_low_i16x8_u(c), v128.load(gains))
    const high = rounded(i32x4.extend_high_i16x8_u(c), v128.load(gains, 16))
    v128.store(codes, i16x8.narrow_i32x4_u(low, high))
    codes += 16
    gains += 32
  }
  for (; i < n; i++) {
    const v = floor<f32>(<f32>load<u16>(codes) * load<f32>(gains) + 0.5)
    store<u16>(codes, <u16>(v > 65535 ? 65535 : v > 0 ? v : 0))
    codes += 2
    gains += 4
  }
}
