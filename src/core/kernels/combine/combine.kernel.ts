// The inverse-variance mean of one row, four samples at a time; see combine.ts for the definition.

const ROW_LEFT: usize = 32
const ENTRY: usize = 48

// @ts-ignore: decorator
@inline
function cellValue(above: usize, below: usize, at0: usize, at1: usize, along: v128, down: v128): v128 {
  const a0 = v128.load(above + at0)
  const b0 = v128.load(below + at0)
  const a = f32x4.add(a0, f32x4.mul(f32x4.sub(v128.load(above + at1), a0), along))
  const b = f32x4.add(b0, f32x4.mul(f32x4.sub(v128.load(below + at1), b0), along))
  return f32x4.pmax(f32x4.splat(0), f32x4.add(a, f32x4.mul(f32x4.sub(b, a), down)))
}

/** Rows are unpadded and the next one may be another thread's: never store past the width. */
// @ts-ignore: decorator
@inline
function storeFirst(at: usize, v: v128, lanes: i32): void {
  if (lanes >= 4) {
    v128.store(at, v)
    return
  }
  store<f32>(at, f32x4.extract_lane(v, 0))
  if (lanes > 1) store<f32>(at, f32x4.extract_lane(v, 1), 4)
  if (lanes > 2) store<f32>(at, f32x4.extract_lane(v, 2), 8)
}

export function combineRow(frames: usize, count: i32, width: i32, cellsAbove: usize, cellsBelow: usize, cellFraction: f32, cellCount: i32, out: usize, variance: usize): i32 {
  const zero = f32x4.splat(0)
  const tiny = f32x4.splat(<f32>1e-30)
  const deviations = f32x4.splat(25)
  const enough = f32x4.splat(<f32>0.02)
  const down = f32x4.splat(cellFraction)
  const end = frames + <usize>count * ENTRY
  let clipped = 0
  for (let x = 0; x < width; x += 4) {
    const at = ROW_LEFT + (<usize>x << 2)
    const position = min<f32>(max<f32>((<f32>x + 2) * <f32>(1.0 / 16.0) - <f32>0.5, 0), <f32>(cellCount - 1))
    const c0 = min(<i32>floor<f32>(position), max(0, cellCount - 2))
    const c1 = min(c0 + 1, cellCount - 1)
    const expected = cellValue(cellsAbove, cellsBelow, <usize>c0 << 4, <usize>c1 << 4, f32x4.splat(position - <f32>c0), down)
    let trusted = zero
    let first = zero
    let exposure = zero
    let spreadOfFirst = zero
    for (let p = frames; p < end; p += ENTRY) {
      const trust = f32x4.pmax(zero, v128.load(<usize>load<u32>(p, 4) + at))
      const weight = f32x4.mul(trust, v128.load32_splat(p, 32))
      trusted = f32x4.add(trusted, trust)
      first = f32x4.add(first, f32x4.mul(trust, v128.load(<usize>load<u32>(p) + at)))
      exposure = f32x4.add(exposure, weight)
      const spread = f32x4.add(f32x4.mul(v128.load64_splat(p, 16), expected), v128.load64_splat(p, 24))
      spreadOfFirst = f32x4.add(spreadOfFirst, f32x4.mul(f32x4.mul(weight, weight), spread))
    }
    const off = f32x4.sub(first, f32x4.mul(expected, exposure))
    const far = f32x4.gt(f32x4.mul(off, off), f32x4.mul(deviations, spreadOfFirst))
    const own = f32x4.pmax(zero, f32x4.div(first, f32x4.pmax(exposure, tiny)))
    const phi = v128.bitselect(own, expected, far)
    let sum = zero
    let weights = zero
    for (let p = frames; p < end; p += ENTRY) {
      const trust = v128.load(<usize>load<u32>(p, 4) + at)
      const spread = f32x4.add(f32x4.mul(v128.load64_splat(p, 16), phi), v128.load64_splat(p, 24))
      const w = v128.and(f32x4.div(f32x4.pmax(trust, v128.load32_splat(p, 12)), spread), f32x4.ge(trust, zero))
      weights = f32x4.add(weights, w)
      sum = f32x4.add(sum, f32x4.mul(f32x4.mul(w, v128.load32_splat(p, 8)), v128.load(<usize>load<u32>(p) + at)))
    }
    weights = f32x4.pmax(weights, tiny)
    const lost = i32x4.bitmask(f32x4.lt(trusted, enough))
    const valid = width - x >= 4 ? 15 : (1 << (width - x)) - 1
    clipped += popcnt<i32>(lost & valid)
    storeFirst(out + (<usize>x << 2), f32x4.div(sum, weights), width - x)
    storeFirst(variance + (<usize>x << 2), f32x4.div(f32x4.splat(1), weights), width - x)
  }
  return clipped
}
