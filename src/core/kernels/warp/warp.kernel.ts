// A bent row, see warp.ts for the definition. Four columns at a time where their sources stand side by side in one row
// and inside the picture; else each column alone. The same operations in the same order, so the bits are the same.

const EIGHTH: f32 = 0.125

// @ts-ignore: decorator
@inline
function limited(value: f32, low: f32): f32 {
  return max<f32>(value, low - abs<f32>(low) * EIGHTH)
}

// One column's six vertical sums weigh in: (0 + 4) + 2 and (1 + 5) + 3.
// @ts-ignore: decorator
@inline
function across(s0: v128, s1: v128, low: v128, wx: usize): f32 {
  const t = f32x4.add(f32x4.mul(s0, v128.load(wx)), f32x4.mul(s1, v128.load(wx, 16)))
  const u = f32x4.add(t, v128.shuffle<i32>(t, t, 2, 3, 0, 1))
  const l = f32x4.pmin(low, v128.shuffle<i32>(low, low, 2, 3, 0, 1))
  return limited(f32x4.extract_lane(u, 0) + f32x4.extract_lane(u, 1), min<f32>(f32x4.extract_lane(l, 0), f32x4.extract_lane(l, 1)))
}

// A column alone: six rows of two vectors (samples −2 … 1 and 2 … 5, of which the last two weigh nothing).
function inside(at: usize, stride: usize, wx: usize, wy: usize): f32 {
  let w = v128.load32_splat(wy)
  let s0 = f32x4.mul(v128.load(at), w)
  let s1 = f32x4.mul(v128.load(at, 16), w)
  let low = f32x4.splat(Infinity)
  for (let j = 1; j < 6; j++) {
    at += stride
    wy += 4
    w = v128.load32_splat(wy)
    s0 = f32x4.add(s0, f32x4.mul(v128.load(at), w))
    s1 = f32x4.add(s1, f32x4.mul(v128.load(at, 16), w))
    if (j < 5) low = f32x4.pmin(low, v128.load(at, 4))
  }
  return across(s0, s1, low, wx)
}

// @ts-ignore: decorator
@inline
function column(c: i32, width: i32): usize {
  return <usize>(c < 0 ? 0 : c >= width ? width - 1 : c) << 2
}

// Near the border: every sample looked up on its own, the edge repeating.
function border(src: usize, width: i32, height: i32, ix: i32, iy: i32, wx: usize, wy: usize): f32 {
  const c0 = column(ix - 2, width)
  const c1 = column(ix - 1, width)
  const c2 = column(ix, width)
  const c3 = column(ix + 1, width)
  const c4 = column(ix + 2, width)
  const c5 = column(ix + 3, width)
  let s0 = f32x4.splat(0)
  let s1 = f32x4.splat(0)
  let low = f32x4.splat(Infinity)
  for (let j = 0; j < 6; j++) {
    const r = iy + j - 2
    const p = src + ((<usize>(r < 0 ? 0 : r >= height ? height - 1 : r) * <usize>width) << 2)
    const w = v128.load32_splat(wy + (<usize>j << 2))
    const v0 = f32x4.mul(f32x4(load<f32>(p + c0), load<f32>(p + c1), load<f32>(p + c2), load<f32>(p + c3)), w)
    const v1 = f32x4.mul(f32x4(load<f32>(p + c4), load<f32>(p + c5), 0, 0), w)
    s0 = j == 0 ? v0 : f32x4.add(s0, v0)
    s1 = j == 0 ? v1 : f32x4.add(s1, v1)
    if (j > 0 && j < 5) low = f32x4.pmin(low, f32x4(load<f32>(p + c1), load<f32>(p + c2), load<f32>(p + c3), load<f32>(p + c4)))
  }
  return across(s0, s1, low, wx)
}

function alone(src: usize, width: i32, height: i32, ix: i32, iy: i32, wx: usize, wy: usize): f32 {
  if (ix >= 2 && ix + 6 <= width && iy >= 2 && iy + 3 < height)
    return inside(src + ((<usize>(iy - 2) * <usize>width + <usize>(ix - 2)) << 2), <usize>width << 2, wx, wy)
  return border(src, width, height, ix, iy, wx, wy)
}

// Six rows under one sample position of four columns.
// @ts-ignore: decorator
@inline
function six(p: usize, stride: usize, y0: v128, y1: v128, y2: v128, y3: v128, y4: v128, y5: v128): v128 {
  let s = f32x4.mul(v128.load(p), y0)
  p += stride
  s = f32x4.add(s, f32x4.mul(v128.load(p), y1))
  p += stride
  s = f32x4.add(s, f32x4.mul(v128.load(p), y2))
  p += stride
  s = f32x4.add(s, f32x4.mul(v128.load(p), y3))
  p += stride
  s = f32x4.add(s, f32x4.mul(v128.load(p), y4))
  p += stride
  return f32x4.add(s, f32x4.mul(v128.load(p), y5))
}

// The darkest of the four inner rows under one sample position.
// @ts-ignore: decorator
@inline
function darkest(p: usize, stride: usize): v128 {
  const q = p + stride
  const r = q + stride
  const t = r + stride
  return f32x4.pmin(f32x4.pmin(v128.load(q), v128.load(r)), f32x4.pmin(v128.load(t), v128.load(t + stride)))
}

export function warpRow(src: usize, dst: usize, width: i32, height: i32, y: i32, terms: usize, table: usize): void {
  const g0 = v128.load32_splat(terms)
  const g1 = v128.load32_splat(terms, 4)
  const g2 = v128.load32_splat(terms, 8)
  const g3 = v128.load32_splat(terms, 12)
  const t0 = v128.load32_splat(terms, 16)
  const t1 = v128.load32_splat(terms, 20)
  const cx = v128.load32_splat(terms, 24)
  const scale = load<f32>(terms, 32)
  const inverse: f32 = <f32>1 / scale
  const m = f32x4.splat(scale)
  const inv = f32x4.splat(inverse)
  const dyOne: f32 = (<f32>y - load<f32>(terms, 28)) * inverse
  const dy = f32x4.splat(dyOne)
  const dy2 = f32x4.splat(dyOne * dyOne)
  const two = f32x4.splat(2)
  const one = f32x4.splat(1)
  const half = f32x4.splat(0.5)
  const phases = f32x4.splat(1024)
  const far = f32x4.splat(1e6)
  const near = f32x4.splat(-1e6)
  const stride = <usize>width << 2
  const twoDy2 = f32x4.mul(two, dy2)
  const lanes = i32x4(0, 1, 2, 3)
  let x4 = f32x4(0, 1, 2, 3)
  for (let x = 0; x < width; x += 4) {
    const dx = f32x4.mul(f32x4.sub(x4, cx), inv)
    x4 = f32x4.add(x4, f32x4.splat(4))
    const dx2 = f32x4.mul(dx, dx)
    const r2 = f32x4.pmin(f32x4.add(dx2, dy2), one)
    let g = f32x4.add(g2, f32x4.mul(r2, g3))
    g = f32x4.add(g1, f32x4.mul(r2, g))
    g = f32x4.add(g0, f32x4.mul(r2, g))
    const cross = f32x4.mul(f32x4.mul(two, dx), dy)
    const tx = f32x4.add(f32x4.mul(t0, cross), f32x4.mul(t1, f32x4.add(r2, f32x4.mul(two, dx2))))
    const ty = f32x4.add(f32x4.mul(t1, cross), f32x4.mul(t0, f32x4.add(r2, twoDy2)))
    const ex = f32x4.pmin(f32x4.pmax(f32x4.mul(m, f32x4.add(f32x4.mul(g, dx), tx)), near), far)
    const ey = f32x4.pmin(f32x4.pmax(f32x4.mul(m, f32x4.add(f32x4.mul(g, dy), ty)), near), far)
    const wholeX = f32x4.floor(ex)
    const wholeY = f32x4.floor(ey)
    const phaseX = i32x4.shl(i32x4.trunc_sat_f32x4_s(f32x4.add(f32x4.mul(f32x4.sub(ex, wholeX), phases), half)), 5)
    const phaseY = i32x4.shl(i32x4.trunc_sat_f32x4_s(f32x4.add(f32x4.mul(f32x4.sub(ey, wholeY), phases), half)), 5)
    const wx0 = table + <usize>i32x4.extract_lane(phaseX, 0)
    const wx1 = table + <usize>i32x4.extract_lane(phaseX, 1)
    const wx2 = table + <usize>i32x4.extract_lane(phaseX, 2)
    const wx3 = table + <usize>i32x4.extract_lane(phaseX, 3)
    const wy0 = table + <usize>i32x4.extract_lane(phaseY, 0)
    const wy1 = table + <usize>i32x4.extract_lane(phaseY, 1)
    const wy2 = table + <usize>i32x4.extract_lane(phaseY, 2)
    const wy3 = table + <usize>i32x4.extract_lane(phaseY, 3)
    const jumpX = i32x4.trunc_sat_f32x4_s(wholeX)
    const jumpY = i32x4.trunc_sat_f32x4_s(wholeY)
    const firstX = i32x4.extract_lane(jumpX, 0)
    const firstY = i32x4.extract_lane(jumpY, 0)
    const ix = x + firstX
    const iy = y + firstY
    const together = v128.and(i32x4.eq(jumpX, i32x4.splat(firstX)), i32x4.eq(jumpY, i32x4.splat(firstY)))
    if (i32x4.all_true(together) && ix >= 2 && ix + 9 <= width && iy >= 2 && iy + 3 < height && x + 4 <= width) {
      let a = v128.load(wy0)
      let b = v128.load(wy1)
      let c = v128.load(wy2)
      let d = v128.load(wy3)
      let ab = v128.shuffle<i32>(a, b, 0, 4, 1, 5)
      let cd = v128.shuffle<i32>(c, d, 0, 4, 1, 5)
      const y0 = v128.shuffle<i32>(ab, cd, 0, 1, 4, 5)
      const y1 = v128.shuffle<i32>(ab, cd, 2, 3, 6, 7)
      ab = v128.shuffle<i32>(a, b, 2, 6, 3, 7)
      cd = v128.shuffle<i32>(c, d, 2, 6, 3, 7)
      const y2 = v128.shuffle<i32>(ab, cd, 0, 1, 4, 5)
      const y3 = v128.shuffle<i32>(ab, cd, 2, 3, 6, 7)
      ab = v128.shuffle<i32>(v128.load(wy0, 16), v128.load(wy1, 16), 0, 4, 1, 5)
      cd = v128.shuffle<i32>(v128.load(wy2, 16), v128.load(wy3, 16), 0, 4, 1, 5)
      const y4 = v128.shuffle<i32>(ab, cd, 0, 1, 4, 5)
      const y5 = v128.shuffle<i32>(ab, cd, 2, 3, 6, 7)

      const p = src + ((<usize>(iy - 2) * <usize>width + <usize>(ix - 2)) << 2)
      a = v128.load(wx0)
      b = v128.load(wx1)
      c = v128.load(wx2)
      d = v128.load(wx3)
      ab = v128.shuffle<i32>(a, b, 0, 4, 1, 5)
      cd = v128.shuffle<i32>(c, d, 0, 4, 1, 5)
      // Sample positions in the order of the sum: 0, 4, 2 and 1, 5, 3. The inner four also give the darkest.
      let even = f32x4.mul(six(p, stride, y0, y1, y2, y3, y4, y5), v128.shuffle<i32>(ab, cd, 0, 1, 4, 5))
      let odd = f32x4.mul(six(p + 4, stride, y0, y1, y2, y3, y4, y5), v128.shuffle<i32>(ab, cd, 2, 3, 6, 7))
      let low = darkest(p + 4, stride)
      const ef = v128.shuffle<i32>(v128.load(wx0, 16), v128.load(wx1, 16), 0, 4, 1, 5)
      const gh = v128.shuffle<i32>(v128.load(wx2, 16), v128.load(wx3, 16), 0, 4, 1, 5)
      even = f32x4.add(even, f32x4.mul(six(p + 16, stride, y0, y1, y2, y3, y4, y5), v128.shuffle<i32>(ef, gh, 0, 1, 4, 5)))
      odd = f32x4.add(odd, f32x4.mul(six(p + 20, stride, y0, y1, y2, y3, y4, y5), v128.shuffle<i32>(ef, gh, 2, 3, 6, 7)))
      low = f32x4.pmin(low, darkest(p + 16, stride))
      ab = v128.shuffle<i32>(a, b, 2, 6, 3, 7)
      cd = v128.shuffle<i32>(c, d, 2, 6, 3, 7)
      even = f32x4.add(even, f32x4.mul(six(p + 8, stride, y0, y1, y2, y3, y4, y5), v128.shuffle<i32>(ab, cd, 0, 1, 4, 5)))
      odd = f32x4.add(odd, f32x4.mul(six(p + 12, stride, y0, y1, y2, y3, y4, y5), v128.shuffle<i32>(ab, cd, 2, 3, 6, 7)))
      low = f32x4.pmin(low, f32x4.pmin(darkest(p + 8, stride), darkest(p + 12, stride)))
      const value = f32x4.add(even, odd)
      const floor4 = f32x4.sub(low, f32x4.mul(f32x4.abs(low), f32x4.splat(0.125)))
      v128.store(dst, f32x4.pmax(value, floor4))
    } else {
      const xs = i32x4.add(i32x4.add(i32x4.splat(x), lanes), jumpX)
      const ys = i32x4.add(i32x4.splat(y), jumpY)
      store<f32>(dst, alone(src, width, height, i32x4.extract_lane(xs, 0), i32x4.extract_lane(ys, 0), wx0, wy0))
      if (x + 1 < width) store<f32>(dst, alone(src, width, height, i32x4.extract_lane(xs, 1), i32x4.extract_lane(ys, 1), wx1, wy1), 4)
      if (x + 2 < width) store<f32>(dst, alone(src, width, height, i32x4.extract_lane(xs, 2), i32x4.extract_lane(ys, 2), wx2, wy2), 8)
      if (x + 3 < width) store<f32>(dst, alone(src, width, height, i32x4.extract_lane(xs, 3), i32x4.extract_lane(ys, 3), wx3, wy3), 12)
    }
    dst += 16
  }
}
