// The inverse-variance mean of one row, eight samples at a time; see combine.ts for the definition.
import { storeFirst } from '../lanes.kernel'

const ROW_LEFT: usize = 32
const ENTRY: usize = 32

// @ts-ignore: decorator
@inline
function cellValue(above: usize, below: usize, at0: usize, at1: usize, along: v128, down: v128): v128 {
  const a0 = v128.load(above + at0)
  const b0 = v128.load(below + at0)
  const a = f32x4.add(a0, f32x4.mul(f32x4.sub(v128.load(above + at1), a0), along))
  const b = f32x4.add(b0, f32x4.mul(f32x4.sub(v128.load(below + at1), b0), along))
  return f32x4.pmax(f32x4.splat(0), f32x4.add(a, f32x4.mul(f32x4.sub(b, a), down)))
}

/** Weights of one frame for eight columns, and what they make of its values: the weight the same, the value times gain. */
// @ts-ignore: decorator
@inline
function weightOf(entry: usize, expected: v128): v128 {
  const spread = f32x4.add(f32x4.mul(v128.load64_splat(entry, 16), expected), v128.load64_splat(entry, 24))
  return f32x4.div(f32x4.splat(1), spread)
}

export function combineRow(frames: usize, count: i32, xFrom: i32, columns: i32, cellsAbove: usize, cellsBelow: usize, cellFraction: f32, cellCount: i32, out: usize, variance: usize): i32 {
  const zero = f32x4.splat(0)
  const one = f32x4.splat(1)
  const tiny = f32x4.splat(<f32>1e-30)
  const enough = f32x4.splat(<f32>0.02)
  const down = f32x4.splat(cellFraction)
  const end = frames + <usize>count * ENTRY
  let clipped = 0
  for (let x = 0; x < columns; x += 8) {
    const at = ROW_LEFT + (<usize>x << 2)
    const position = min<f32>(max<f32>((<f32>(xFrom + x) + 4) * <f32>(1.0 / 16.0) - <f32>0.5, 0), <f32>(cellCount - 1))
    const c0 = min(<i32>floor<f32>(position), max(0, cellCount - 2))
    const c1 = min(c0 + 1, cellCount - 1)
    const expected = cellValue(cellsAbove, cellsBelow, <usize>c0 << 4, <usize>c1 << 4, f32x4.splat(position - <f32>c0), down)
    let sum0 = zero
    let sum1 = zero
    let weights0 = zero
    let weights1 = zero
    let trusted0 = zero
    let trusted1 = zero
    for (let p = frames; p < end; p += ENTRY) {
      const weight = weightOf(p, expected)
      const gain = v128.load32_splat(p, 8)
      const floor = v128.load32_splat(p, 12)
      const values = <usize>load<u32>(p) + at
      const trusts = <usize>load<u32>(p, 4) + at
      const t0 = v128.load(trusts)
      const t1 = v128.load(trusts, 16)
      // Outside the frame trust is −1 and nothing counts.
      const w0 = v128.and(f32x4.mul(f32x4.pmax(t0, floor), weight), f32x4.ge(t0, zero))
      const w1 = v128.and(f32x4.mul(f32x4.pmax(t1, floor), weight), f32x4.ge(t1, zero))
      trusted0 = f32x4.add(trusted0, f32x4.pmax(zero, t0))
      trusted1 = f32x4.add(trusted1, f32x4.pmax(zero, t1))
      weights0 = f32x4.add(weights0, w0)
      weights1 = f32x4.add(weights1, w1)
      sum0 = f32x4.add(sum0, f32x4.mul(f32x4.mul(w0, gain), v128.load(values)))
      sum1 = f32x4.add(sum1, f32x4.mul(f32x4.mul(w1, gain), v128.load(values, 16)))
    }
    const left = columns - x
    const lost = i32x4.bitmask(f32x4.lt(trusted0, enough)) | (i32x4.bitmask(f32x4.lt(trusted1, enough)) << 4)
    clipped += popcnt<i32>(lost & (left >= 8 ? 255 : (1 << left) - 1))
    const inverse0 = f32x4.div(one, f32x4.pmax(weights0, tiny))
    const inverse1 = f32x4.div(one, f32x4.pmax(weights1, tiny))
    const to = <usize>x << 2
    storeFirst(out + to, f32x4.mul(sum0, inverse0), left)
    storeFirst(variance + to, inverse0, left)
    if (left > 4) {
      storeFirst(out + to + 16, f32x4.mul(sum1, inverse1), left - 4)
      storeFirst(variance + to + 16, inverse1, left - 4)
    }
  }
  return clipped
}
