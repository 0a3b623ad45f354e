// Half-size picture by [1 3 3 1]/8; see pyramid.ts for the definition. Same order of additions, so bit for bit the same.

// @ts-ignore: decorator
@inline
function column4(p0: usize, p1: usize, p2: usize, p3: usize, at: usize): v128 {
  const outer = f32x4.add(v128.load(p0 + at), v128.load(p3 + at))
  const inner = f32x4.add(v128.load(p1 + at), v128.load(p2 + at))
  return f32x4.add(outer, f32x4.mul(f32x4.splat(3), inner))
}

// @ts-ignore: decorator
@inline
function column1(p0: usize, p1: usize, p2: usize, p3: usize, x: i32): f32 {
  const at = <usize>x << 2
  return load<f32>(p0 + at) + load<f32>(p3 + at) + <f32>3 * (load<f32>(p1 + at) + load<f32>(p2 + at))
}

export function halveRows(src: usize, width: i32, height: i32, y0: i32, y1: i32, dst: usize): void {
  const half = width >> 1
  const rowBytes = <usize>width << 2
  const scale = f32x4.splat(1.0 / 64.0)
  const three = f32x4.splat(3)
  for (let y = y0; y < y1; y++) {
    const p0 = src + rowBytes * <usize>max(0, 2 * y - 1)
    const p1 = src + rowBytes * <usize>(2 * y)
    const p2 = p1 + rowBytes
    const p3 = src + rowBytes * <usize>min(height - 1, 2 * y + 2)
    const d = dst + ((<usize>(y * half)) << 2)
    let x = 0
    while (x < half) {
      if (x >= 1 && 2 * x + 9 < width && x + 4 <= half) {
        // Columns 2x−1 … 2x+8 in overlapping vectors; pick every second one.
        const at = (<usize>(2 * x)) << 2
        const m0 = column4(p0, p1, p2, p3, at - 4)
        const m1 = column4(p0, p1, p2, p3, at + 12)
        const n0 = column4(p0, p1, p2, p3, at + 4)
        const n1 = column4(p0, p1, p2, p3, at + 20)
        const a = v128.shuffle<i32>(m0, m1, 0, 2, 4, 6)
        const b = v128.shuffle<i32>(m0, m1, 1, 3, 5, 7)
        const c = v128.shuffle<i32>(n0, n1, 0, 2, 4, 6)
        const e = v128.shuffle<i32>(n0, n1, 1, 3, 5, 7)
        v128.store(d + (<usize>x << 2), f32x4.mul(f32x4.add(f32x4.add(a, e), f32x4.mul(three, f32x4.add(b, c))), scale))
        x += 4
      } else {
        const a = column1(p0, p1, p2, p3, max(0, 2 * x - 1))
        const b = column1(p0, p1, p2, p3, 2 * x)
        const c = column1(p0, p1, p2, p3, 2 * x + 1)
        const e = column1(p0, p1, p2, p3, min(width - 1, 2 * x + 2))
        store<f32>(d + (<usize>x << 2), (a + e + <f32>3 * (b + c)) * <f32>(1.0 / 64.0))
        x++
      }
    }
  }
}

// @ts-ignore: decorator
@inline
function middle4(side0: v128, here: v128, side1: v128): v128 {
  return f32x4.mul(f32x4.add(f32x4.add(side0, side1), f32x4.add(here, here)), f32x4.splat(0.25))
}

// @ts-ignore: decorator
@inline
function middle1(side0: f32, here: f32, side1: f32): f32 {
  return (side0 + side1 + (here + here)) * <f32>0.25
}

function acrossRow(from: usize, width: i32, to: usize): void {
  let x = 1
  for (; x + 4 < width; x += 4) {
    const p = from + (<usize>x << 2)
    v128.store(to + (<usize>x << 2), middle4(v128.load(p - 4), v128.load(p), v128.load(p, 4)))
  }
  for (; x < width; x++) {
    const p = from + (<usize>x << 2)
    store<f32>(to + (<usize>x << 2), middle1(load<f32>(p - 4), load<f32>(p), load<f32>(x + 1 < width ? p + 4 : p)))
  }
  store<f32>(to, middle1(load<f32>(from), load<f32>(from), load<f32>(width > 1 ? from + 4 : from)))
}

export function smoothPicture(at: usize, width: i32, height: i32, work: usize): void {
  const rowBytes = <usize>width << 2
  acrossRow(at, width, work)
  for (let y = 0; y < height; y++) {
    if (y + 1 < height) acrossRow(at + rowBytes * <usize>(y + 1), width, work + rowBytes * <usize>((y + 1) % 3))
    const above = work + rowBytes * <usize>(max(0, y - 1) % 3)
    const here = work + rowBytes * <usize>(y % 3)
    const below = work + rowBytes * <usize>(min(height - 1, y + 1) % 3)
    const to = at + rowBytes * <usize>y
    let x = 0
    for (; x + 4 <= width; x += 4) {
      const p = <usize>x << 2
      v128.store(to + p, middle4(v128.load(above + p), v128.load(here + p), v128.load(below + p)))
    }
    for (; x < width; x++) {
      const p = <usize>x << 2
      store<f32>(to + p, middle1(load<f32>(above + p), load<f32>(here + p), load<f32>(below + p)))
    }
  }
}
