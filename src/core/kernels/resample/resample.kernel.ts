// A frame's row laid on the reference, eight columns at a time; see resample.ts for the definition.

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
function down(p: usize, rowBytes: usize, w0: v128, w1: v128, w2: v128, w3: v128): v128 {
  return f32x4.add(
    f32x4.add(f32x4.mul(v128.load(p), w0), f32x4.mul(v128.load(p + rowBytes), w1)),
    f32x4.add(f32x4.mul(v128.load(p + 2 * rowBytes), w2), f32x4.mul(v128.load(p + 3 * rowBytes), w3)),
  )
}

// @ts-ignore: decorator
@inline
function shift1(a: v128, b: v128): v128 {
  return v128.shuffle<i32>(a, b, 1, 2, 3, 4)
}

// @ts-ignore: decorator
@inline
function shift2(a: v128, b: v128): v128 {
  return v128.shuffle<i32>(a, b, 2, 3, 4, 5)
}

// @ts-ignore: decorator
@inline
function shift3(a: v128, b: v128): v128 {
  return v128.shuffle<i32>(a, b, 3, 4, 5, 6)
}

// @ts-ignore: decorator
@inline
function along(a: v128, b: v128, w0: v128, w1: v128, w2: v128, w3: v128): v128 {
  return f32x4.add(
    f32x4.add(f32x4.mul(a, w0), f32x4.mul(shift1(a, b), w1)),
    f32x4.add(f32x4.mul(shift2(a, b), w2), f32x4.mul(shift3(a, b), w3)),
  )
}

/** The largest of the four rows a column reads. */
// @ts-ignore: decorator
@inline
function highest(p: usize, rowBytes: usize): v128 {
  return f32x4.pmax(f32x4.pmax(v128.load(p), v128.load(p + rowBytes)), f32x4.pmax(v128.load(p + 2 * rowBytes), v128.load(p + 3 * rowBytes)))
}

// @ts-ignore: decorator
@inline
function highestAlong(a: v128, b: v128): v128 {
  return f32x4.pmax(f32x4.pmax(a, shift1(a, b)), f32x4.pmax(shift2(a, b), shift3(a, b)))
}

/** Eight columns near the frame's edge, one by one: taps beyond it take the sample at the edge, places farther out have no trust. */
function edge(even: usize, odd: usize, rowBytes: usize, left: i32, top: i32, x0: i32, x1: i32, y0: i32, y1: i32, sx: f64, sy: f64, table: usize, clipLow: f32, clipHigh: f32, value: usize, trust: usize): void {
  const ix = <i32>floor<f64>(sx)
  const iy = <i32>floor<f64>(sy)
  const wx = table + ((<usize><i32>floor<f64>((sx - <f64>ix) * 256 + 0.5)) << 4)
  const wy = table + ((<usize><i32>floor<f64>((sy - <f64>iy) * 256 + 0.5)) << 4)
  for (let lane = 0; lane < 8; lane++) {
    const x = ix + lane
    const at = <usize>lane << 2
    if (x < x0 - 2 || x > x1 + 1 || iy < y0 - 2 || iy > y1 + 1 || x1 < x0 || y1 < y0) {
      store<f32>(value + at, 0)
      store<f32>(trust + at, -1)
      continue
    }
    const plane = lane & 1 ? odd : even
    let sum: f32 = 0
    let most: f32 = -3.4e38
    for (let i = 0; i < 4; i++) {
      const column = <usize>(min(x1, max(x0, x + i - 1)) - left) << 2
      let across: f32 = 0
      for (let j = 0; j < 4; j++) {
        const s = load<f32>(plane + rowBytes * <usize>(min(y1, max(y0, iy + j - 1)) - top) + LEFT + column)
        across += load<f32>(wy + (<usize>j << 2)) * s
        most = max<f32>(most, s)
      }
      sum += load<f32>(wx + (<usize>i << 2)) * across
    }
    store<f32>(value + at, sum)
    const t = min<f32>(1, max<f32>(0, (clipHigh - most) / (clipHigh - clipLow)))
    store<f32>(trust + at, t * t * (3 - (t + t)))
  }
}

export function resampleRow(even: usize, odd: usize, stride: i32, place: usize, xFrom: i32, columns: i32, y: i32, warp: usize, table: usize, clipLow: f32, clipHigh: f32, value: usize, trust: usize): void {
  const planeLeft = load<i32>(place)
  const planeTop = load<i32>(place, 4)
  // What of the picture the buffers hold: the taps stay within that.
  const firstColumn = max(0, planeLeft)
  const lastColumn = min(load<i32>(place, 16), planeLeft + load<i32>(place, 8)) - 1
  const firstRow = max(0, planeTop)
  const lastRow = min(load<i32>(place, 20), planeTop + load<i32>(place, 12)) - 1
  const m00 = load<f32>(warp)
  const m01 = load<f32>(warp, 4)
  const m02 = load<f32>(warp, 8)
  const m10 = load<f32>(warp, 12)
  const m11 = load<f32>(warp, 16)
  const m12 = load<f32>(warp, 20)
  const rowBytes = <usize>stride << 2
  const low = f32x4.splat(clipLow)
  const high = f32x4.splat(clipHigh)
  const oddLanes = i32x4(0, -1, 0, -1)
  const one = f32x4.splat(1)
  for (let block = 0; block < columns; block += 8) {
    const middle = <f64>(xFrom + block) + 3.5
    const sx = <f64>m00 * middle + <f64>m01 * <f64>y + <f64>m02 - 3.5
    const sy = <f64>m10 * middle + <f64>m11 * <f64>y + <f64>m12
    const ix = <i32>floor<f64>(sx)
    const iy = <i32>floor<f64>(sy)
    const v = value + LEFT + (<usize>block << 2)
    const t = trust + LEFT + (<usize>block << 2)
    const wholeRows = iy - 1 >= firstRow && iy + 2 <= lastRow
    if (!wholeRows || ix - 1 < firstColumn || ix + 9 > lastColumn) {
      edge(even, odd, rowBytes, planeLeft, planeTop, firstColumn, lastColumn, firstRow, lastRow, sx, sy, table, clipLow, clipHigh, v, t)
      continue
    }
    const wx = table + ((<usize><i32>floor<f64>((sx - <f64>ix) * 256 + 0.5)) << 4)
    const wy = table + ((<usize><i32>floor<f64>((sy - <f64>iy) * 256 + 0.5)) << 4)
    const x0 = v128.load32_splat(wx)
    const x1 = v128.load32_splat(wx, 4)
    const x2 = v128.load32_splat(wx, 8)
    const x3 = v128.load32_splat(wx, 12)
    const y0 = v128.load32_splat(wy)
    const y1 = v128.load32_splat(wy, 4)
    const y2 = v128.load32_splat(wy, 8)
    const y3 = v128.load32_splat(wy, 12)
    const offset = rowBytes * <usize>(iy - 1 - planeTop) + LEFT + ((<usize>(ix - 1 - planeLeft)) << 2)
    const e = even + offset
    const a0 = down(e, rowBytes, y0, y1, y2, y3)
    const a1 = down(e + 16, rowBytes, y0, y1, y2, y3)
    const a2 = down(e + 32, rowBytes, y0, y1, y2, y3)
    let first = along(a0, a1, x0, x1, x2, x3)
    let second = along(a1, a2, x0, x1, x2, x3)
    const h0 = highest(e, rowBytes)
    const h1 = highest(e + 16, rowBytes)
    const h2 = highest(e + 32, rowBytes)
    let most = f32x4.pmax(h0, f32x4.pmax(h1, h2))
    const o = odd + offset
    let g0 = h0
    let g1 = h1
    let g2 = h2
    if (odd != even) {
      const b0 = down(o, rowBytes, y0, y1, y2, y3)
      const b1 = down(o + 16, rowBytes, y0, y1, y2, y3)
      const b2 = down(o + 32, rowBytes, y0, y1, y2, y3)
      first = v128.bitselect(along(b0, b1, x0, x1, x2, x3), first, oddLanes)
      second = v128.bitselect(along(b1, b2, x0, x1, x2, x3), second, oddLanes)
      g0 = highest(o, rowBytes)
      g1 = highest(o + 16, rowBytes)
      g2 = highest(o + 32, rowBytes)
      most = f32x4.pmax(most, f32x4.pmax(g0, f32x4.pmax(g1, g2)))
    }
    let t0 = one
    let t1 = one
    // Most of a picture is far from clipping, and then nothing of this needs working out.
    if (v128.any_true(f32x4.ge(most, low))) {
      t0 = trustOf(v128.bitselect(highestAlong(g0, g1), highestAlong(h0, h1), oddLanes), low, high)
      t1 = trustOf(v128.bitselect(highestAlong(g1, g2), highestAlong(h1, h2), oddLanes), low, high)
    }
    v128.store(v, first)
    v128.store(v, second, 16)
    v128.store(t, t0)
    v128.store(t, t1, 16)
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
