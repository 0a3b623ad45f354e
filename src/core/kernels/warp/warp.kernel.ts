// A bent row, see warp.ts for the definition. Positions four columns at a time; each output sample as six rows of two
// vectors (columns −2 … 1 and 2 … 5, of which the last two weigh nothing). Same operations in the same order.

// @ts-ignore: decorator
@inline
function column(c: i32, width: i32): usize {
  return <usize>(c < 0 ? 0 : c >= width ? width - 1 : c) << 2
}

// @ts-ignore: decorator
@inline
function row(src: usize, r: i32, width: i32, height: i32): usize {
  return src + ((<usize>(r < 0 ? 0 : r >= height ? height - 1 : r) * <usize>width) << 2)
}

// @ts-ignore: decorator
@inline
function finish(sum0: v128, sum1: v128, low: v128, high: v128, wx: usize): f32 {
  const t = f32x4.add(f32x4.mul(sum0, v128.load(wx)), f32x4.mul(sum1, v128.load(wx, 16)))
  const u = f32x4.add(t, v128.shuffle<i32>(t, t, 2, 3, 0, 1))
  const l = f32x4.min(low, v128.shuffle<i32>(low, low, 2, 3, 0, 1))
  const h = f32x4.max(high, v128.shuffle<i32>(high, high, 2, 3, 0, 1))
  const value = f32x4.extract_lane(u, 0) + f32x4.extract_lane(u, 1)
  const least = min<f32>(f32x4.extract_lane(l, 0), f32x4.extract_lane(l, 1))
  const most = max<f32>(f32x4.extract_lane(h, 0), f32x4.extract_lane(h, 1))
  const slack: f32 = min<f32>(most - least, abs<f32>(least)) * 0.125
  return max<f32>(value, least - slack)
}

// @ts-ignore: decorator
@inline
function inside(at: usize, stride: usize, wx: usize, wy: usize): f32 {
  let p = at
  let w = v128.load32_splat(wy)
  let s0 = f32x4.mul(v128.load(p), w)
  let s1 = f32x4.mul(v128.load(p, 16), w)
  p += stride
  w = v128.load32_splat(wy, 4)
  s0 = f32x4.add(s0, f32x4.mul(v128.load(p), w))
  s1 = f32x4.add(s1, f32x4.mul(v128.load(p, 16), w))
  const a = v128.load(p, 4)
  p += stride
  w = v128.load32_splat(wy, 8)
  s0 = f32x4.add(s0, f32x4.mul(v128.load(p), w))
  s1 = f32x4.add(s1, f32x4.mul(v128.load(p, 16), w))
  const b = v128.load(p, 4)
  p += stride
  w = v128.load32_splat(wy, 12)
  s0 = f32x4.add(s0, f32x4.mul(v128.load(p), w))
  s1 = f32x4.add(s1, f32x4.mul(v128.load(p, 16), w))
  const c = v128.load(p, 4)
  p += stride
  w = v128.load32_splat(wy, 16)
  s0 = f32x4.add(s0, f32x4.mul(v128.load(p), w))
  s1 = f32x4.add(s1, f32x4.mul(v128.load(p, 16), w))
  const d = v128.load(p, 4)
  p += stride
  w = v128.load32_splat(wy, 20)
  s0 = f32x4.add(s0, f32x4.mul(v128.load(p), w))
  s1 = f32x4.add(s1, f32x4.mul(v128.load(p, 16), w))
  const low = f32x4.min(f32x4.min(a, b), f32x4.min(c, d))
  const high = f32x4.max(f32x4.max(a, b), f32x4.max(c, d))
  return finish(s0, s1, low, high, wx)
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
  let high = f32x4.splat(-Infinity)
  for (let j = 0; j < 6; j++) {
    const p = row(src, iy + j - 2, width, height)
    const w = v128.load32_splat(wy + (<usize>j << 2))
    const inner = f32x4(load<f32>(p + c1), load<f32>(p + c2), load<f32>(p + c3), load<f32>(p + c4))
    const v0 = f32x4.mul(f32x4(load<f32>(p + c0), load<f32>(p + c1), load<f32>(p + c2), load<f32>(p + c3)), w)
    const v1 = f32x4.mul(f32x4(load<f32>(p + c4), load<f32>(p + c5), 0, 0), w)
    s0 = j == 0 ? v0 : f32x4.add(s0, v0)
    s1 = j == 0 ? v1 : f32x4.add(s1, v1)
    if (j > 0 && j < 5) {
      low = f32x4.min(low, inner)
      high = f32x4.max(high, inner)
    }
  }
  return finish(s0, s1, low, high, wx)
}

// @ts-ignore: decorator
@inline
function sample(src: usize, width: i32, height: i32, ix: i32, iy: i32, wx: usize, wy: usize, stride: usize): f32 {
  if (ix >= 2 && ix + 6 <= width && iy >= 2 && iy + 3 < height)
    return inside(src + (((<usize>(iy - 2)) * <usize>width + <usize>(ix - 2)) << 2), stride, wx, wy)
  return border(src, width, height, ix, iy, wx, wy)
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
  let x4 = f32x4(0, 1, 2, 3)
  let at = i32x4(0, 1, 2, 3)
  for (let x = 0; x < width; x += 4) {
    const dx = f32x4.mul(f32x4.sub(x4, cx), inv)
    const dx2 = f32x4.mul(dx, dx)
    const r2 = f32x4.min(f32x4.add(dx2, dy2), one)
    let g = f32x4.add(g2, f32x4.mul(r2, g3))
    g = f32x4.add(g1, f32x4.mul(r2, g))
    g = f32x4.add(g0, f32x4.mul(r2, g))
    const cross = f32x4.mul(f32x4.mul(two, dx), dy)
    const tx = f32x4.add(f32x4.mul(t0, cross), f32x4.mul(t1, f32x4.add(r2, f32x4.mul(two, dx2))))
    const ty = f32x4.add(f32x4.mul(t1, cross), f32x4.mul(t0, f32x4.add(r2, twoDy2)))
    const ex = f32x4.min(f32x4.max(f32x4.mul(m, f32x4.add(f32x4.mul(g, dx), tx)), near), far)
    const ey = f32x4.min(f32x4.max(f32x4.mul(m, f32x4.add(f32x4.mul(g, dy), ty)), near), far)
    const wholeX = f32x4.floor(ex)
    const wholeY = f32x4.floor(ey)
    const phaseX = i32x4.shl(i32x4.trunc_sat_f32x4_s(f32x4.add(f32x4.mul(f32x4.sub(ex, wholeX), phases), half)), 5)
    const phaseY = i32x4.shl(i32x4.trunc_sat_f32x4_s(f32x4.add(f32x4.mul(f32x4.sub(ey, wholeY), phases), half)), 5)
    const ix = i32x4.add(at, i32x4.trunc_sat_f32x4_s(wholeX))
    const iy = i32x4.add(i32x4.splat(y), i32x4.trunc_sat_f32x4_s(wholeY))
    store<f32>(dst, sample(src, width, height, i32x4.extract_lane(ix, 0), i32x4.extract_lane(iy, 0), table + <usize>i32x4.extract_lane(phaseX, 0), table + <usize>i32x4.extract_lane(phaseY, 0), stride))
    if (x + 1 < width) store<f32>(dst, sample(src, width, height, i32x4.extract_lane(ix, 1), i32x4.extract_lane(iy, 1), table + <usize>i32x4.extract_lane(phaseX, 1), table + <usize>i32x4.extract_lane(phaseY, 1), stride), 4)
    if (x + 2 < width) store<f32>(dst, sample(src, width, height, i32x4.extract_lane(ix, 2), i32x4.extract_lane(iy, 2), table + <usize>i32x4.extract_lane(phaseX, 2), table + <usize>i32x4.extract_lane(phaseY, 2), stride), 8)
    if (x + 3 < width) store<f32>(dst, sample(src, width, height, i32x4.extract_lane(ix, 3), i32x4.extract_lane(iy, 3), table + <usize>i32x4.extract_lane(phaseX, 3), table + <usize>i32x4.extract_lane(phaseY, 3), stride), 12)
    dst += 16
    x4 = f32x4.add(x4, f32x4.splat(4))
    at = i32x4.add(at, i32x4.splat(4))
  }
}
