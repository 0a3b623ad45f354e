// A frame laid on the reference, along its rows and then down between them; see resample.ts for the definition. Positions
// step from block to block as whole numbers of 2⁻²⁴ pixels.

const LEFT: usize = 32

// @ts-ignore: decorator
@inline
function trustOf(p: v128, low: v128, high: v128): v128 {
  const zero = f32x4.splat(0)
  const one = f32x4.splat(1)
  const t = f32x4.pmin(one, f32x4.pmax(zero, f32x4.div(f32x4.sub(high, p), f32x4.sub(high, low))))
  return f32x4.mul(f32x4.mul(t, t), f32x4.sub(f32x4.splat(3), f32x4.add(t, t)))
}

// @ts-ignore: decorator
@inline
function weigh(a: v128, b: v128, c: v128, d: v128, w0: v128, w1: v128, w2: v128, w3: v128): v128 {
  return f32x4.add(f32x4.add(f32x4.mul(a, w0), f32x4.mul(b, w1)), f32x4.add(f32x4.mul(c, w2), f32x4.mul(d, w3)))
}

// @ts-ignore: decorator
@inline
function max4(a: v128, b: v128, c: v128, d: v128): v128 {
  return f32x4.pmax(f32x4.pmax(a, b), f32x4.pmax(c, d))
}

// @ts-ignore: decorator
@inline
function clamp(v: i32, low: i32, high: i32): i32 {
  return min(high, max(low, v))
}

/** A position as a whole number of 2⁻²⁴ pixels. */
// @ts-ignore: decorator
@inline
function fixed(v: f64): i64 {
  return <i64>floor<f64>(v * 16777216 + 0.5)
}

/** Eight columns near the frame's edge, one by one. */
function edgeAcross(straight: usize, crossed: usize, left: i32, x0: i32, x1: i32, ix: i32, w: usize, value: usize, most: usize): void {
  for (let lane = 0; lane < 8; lane++) {
    const x = ix + lane
    const at = <usize>lane << 2
    let sum: f32 = 0
    let top: f32 = 1e30
    if (x >= x0 - 2 && x <= x1 + 1 && x1 >= x0) {
      top = -1e30
      for (let i = 0; i < 4; i++) {
        const column = clamp(x + i - 1, x0, x1)
        const plane = (column ^ lane) & 1 ? crossed : straight
        const v = load<f32>(plane + LEFT + ((<usize>(column - left)) << 2))
        sum += load<f32>(w + (<usize>i << 2)) * v
        top = max<f32>(top, v)
      }
    }
    store<f32>(value + at, sum)
    store<f32>(most + at, top)
  }
}

export function acrossRows(straight: usize, crossed: usize, stride: i32, place: usize, xFrom: i32, columns: i32, warp: usize, table: usize, clipLow: f32, value: usize, most: usize, rowBytes: i32, flags: usize): void {
  const left = load<i32>(place)
  const top = load<i32>(place, 4)
  const rows = load<i32>(place, 12)
  const x0 = max(0, left)
  const x1 = min(load<i32>(place, 16), left + load<i32>(place, 8)) - 1
  const m00 = <f64>load<f32>(warp)
  const m01 = <f64>load<f32>(warp, 4)
  const m02 = <f64>load<f32>(warp, 8)
  const m10 = <f64>load<f32>(warp, 12)
  const m11 = <f64>load<f32>(warp, 16)
  const m12 = <f64>load<f32>(warp, 20)
  // Where a row of the frame meets the reference, its column is a·x + b·row + shift.
  const a = m00 - (m01 * m10) / m11
  const b = m01 / m11
  const shift = m02 - (m01 * m12) / m11 - 3.5
  const step = fixed(8 * a)
  const planeBytes = <usize>stride << 2
  for (let r = 0; r < rows; r++) {
    const s = straight + planeBytes * <usize>r
    const c = crossed + planeBytes * <usize>r
    const toValue = value + <usize>rowBytes * <usize>r
    const toMost = most + <usize>rowBytes * <usize>r
    let highest = f32x4.splat(<f32>-1e30)
    let position = fixed(a * (<f64>xFrom + 3.5) + b * <f64>(top + r) + shift)
    for (let block = 0; block < columns; block += 8, position += step) {
      const ix = <i32>(position >> 24)
      const w = table + ((<usize>(((<u32>position & 0xffffff) + 0x8000) >> 16)) << 4)
      const at = <usize>block << 2
      if (ix - 1 < x0 || ix + 9 > x1) {
        edgeAcross(s, c, left, x0, x1, ix, w, toValue + at, toMost + at)
        for (let lane = 0; lane < min(8, columns - block); lane++) {
          highest = f32x4.pmax(highest, v128.load32_splat(toMost + at + (<usize>lane << 2)))
        }
        continue
      }
      // An even tap distance keeps the plane, an odd one changes it; with an odd offset the two change roles.
      const near = (ix & 1 ? c : s) + LEFT + ((<usize>(ix - left)) << 2)
      const other = (ix & 1 ? s : c) + LEFT + ((<usize>(ix - left)) << 2)
      const w0 = v128.load32_splat(w)
      const w1 = v128.load32_splat(w, 4)
      const w2 = v128.load32_splat(w, 8)
      const w3 = v128.load32_splat(w, 12)
      const a0 = v128.load(other - 4)
      const b0 = v128.load(near)
      const c0 = v128.load(other, 4)
      const d0 = v128.load(near, 8)
      const a1 = v128.load(other, 12)
      const b1 = v128.load(near, 16)
      const c1 = v128.load(other, 20)
      const d1 = v128.load(near, 24)
      v128.store(toValue + at, weigh(a0, b0, c0, d0, w0, w1, w2, w3))
      v128.store(toValue + at, weigh(a1, b1, c1, d1, w0, w1, w2, w3), 16)
      const h0 = max4(a0, b0, c0, d0)
      const h1 = max4(a1, b1, c1, d1)
      v128.store(toMost + at, h0)
      v128.store(toMost + at, h1, 16)
      if (columns - block >= 8) highest = f32x4.pmax(highest, f32x4.pmax(h0, h1))
      else {
        for (let lane = 0; lane < columns - block; lane++) highest = f32x4.pmax(highest, v128.load32_splat(toMost + at + (<usize>lane << 2)))
      }
    }
    store<u8>(flags + <usize>r, v128.any_true(f32x4.ge(highest, f32x4.splat(clipLow))) ? 1 : 0)
  }
}

export function downRow(value: usize, most: usize, rowBytes: i32, flags: usize, place: usize, xFrom: i32, columns: i32, y: i32, warp: usize, table: usize, clipLow: f32, clipHigh: f32, outValue: usize, outTrust: usize): void {
  const top = load<i32>(place, 4)
  const y0 = max(0, top)
  const y1 = min(load<i32>(place, 20), top + load<i32>(place, 12)) - 1
  const m10 = <f64>load<f32>(warp, 12)
  const m11 = <f64>load<f32>(warp, 16)
  const m12 = <f64>load<f32>(warp, 20)
  const bytes = <usize>rowBytes
  const low = f32x4.splat(clipLow)
  const high = f32x4.splat(clipHigh)
  const one = f32x4.splat(1)
  const outside = f32x4.splat(-1)
  const far = f32x4.splat(<f32>9.9e29)
  let position = fixed(m10 * (<f64>xFrom + 3.5) + m11 * <f64>y + m12)
  const step = fixed(8 * m10)
  for (let block = 0; block < columns; block += 8, position += step) {
    const iy = <i32>(position >> 24)
    const at = <usize>block << 2
    const v = outValue + LEFT + at
    const t = outTrust + LEFT + at
    if (iy < y0 - 2 || iy > y1 + 1 || y1 < y0) {
      v128.store(v, f32x4.splat(0))
      v128.store(v, f32x4.splat(0), 16)
      v128.store(t, outside)
      v128.store(t, outside, 16)
      continue
    }
    const w = table + ((<usize>(((<u32>position & 0xffffff) + 0x8000) >> 16)) << 4)
    const r0 = <usize>(clamp(iy - 1, y0, y1) - top)
    const r1 = <usize>(clamp(iy, y0, y1) - top)
    const r2 = <usize>(clamp(iy + 1, y0, y1) - top)
    const r3 = <usize>(clamp(iy + 2, y0, y1) - top)
    const w0 = v128.load32_splat(w)
    const w1 = v128.load32_splat(w, 4)
    const w2 = v128.load32_splat(w, 8)
    const w3 = v128.load32_splat(w, 12)
    const p0 = value + bytes * r0 + at
    const p1 = value + bytes * r1 + at
    const p2 = value + bytes * r2 + at
    const p3 = value + bytes * r3 + at
    v128.store(v, weigh(v128.load(p0), v128.load(p1), v128.load(p2), v128.load(p3), w0, w1, w2, w3))
    v128.store(v, weigh(v128.load(p0, 16), v128.load(p1, 16), v128.load(p2, 16), v128.load(p3, 16), w0, w1, w2, w3), 16)
    // Most of a picture is far from clipping, and then nothing of this needs working out.
    if (!(load<u8>(flags + r0) | load<u8>(flags + r1) | load<u8>(flags + r2) | load<u8>(flags + r3))) {
      v128.store(t, one)
      v128.store(t, one, 16)
      continue
    }
    const q0 = most + bytes * r0 + at
    const q1 = most + bytes * r1 + at
    const q2 = most + bytes * r2 + at
    const q3 = most + bytes * r3 + at
    const h0 = max4(v128.load(q0), v128.load(q1), v128.load(q2), v128.load(q3))
    const h1 = max4(v128.load(q0, 16), v128.load(q1, 16), v128.load(q2, 16), v128.load(q3, 16))
    v128.store(t, v128.bitselect(outside, trustOf(h0, low, high), f32x4.ge(h0, far)))
    v128.store(t, v128.bitselect(outside, trustOf(h1, low, high), f32x4.ge(h1, far)), 16)
  }
}

export function ownRow(lin: usize, columns: i32, clipLow: f32, clipHigh: f32, value: usize, trust: usize): void {
  const low = f32x4.splat(clipLow)
  const high = f32x4.splat(clipHigh)
  for (let x = LEFT; x < LEFT + (<usize>columns << 2); x += 16) {
    const v = v128.load(lin + x)
    v128.store(value + x, v)
    v128.store(trust + x, trustOf(v, low, high))
  }
}
