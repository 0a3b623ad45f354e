// Half-size green picture and cell means; see luma.ts for the definition.

export function halfLumaRows(src: usize, width: i32, y0: i32, y1: i32, dst: usize, greenFirst: i32, blackSum: f32, gain: f32, offset: f32): void {
  const half = width >> 1
  const black = f32x4.splat(blackSum)
  const g = f32x4.splat(gain)
  const o = f32x4.splat(offset)
  const zero = f32x4.splat(0)
  const low = i32x4.splat(0xffff)
  for (let y = y0; y < y1; y++) {
    let a = src + ((<usize>(2 * y * width)) << 1)
    let b = a + (<usize>width << 1)
    if (!greenFirst) {
      const t = a
      a = b
      b = t
    }
    // `a` is the row whose greens are at even columns, `b` the one whose greens are at odd columns.
    let d = dst + ((<usize>(y * half)) << 2)
    let x = 0
    for (; x + 4 <= half; x += 4) {
      const even = v128.and(v128.load(a), low)
      const odd = i32x4.shr_u(v128.load(b), 16)
      const sum = f32x4.sub(f32x4.convert_i32x4_s(i32x4.add(even, odd)), black)
      v128.store(d, f32x4.sqrt(f32x4.pmax(zero, f32x4.add(f32x4.mul(sum, g), o))))
      a += 16
      b += 16
      d += 16
    }
    for (; x < half; x++) {
      const sum = <f32>(<i32>load<u16>(a) + <i32>load<u16>(b + 2)) - blackSum
      store<f32>(d, <f32>Math.sqrt(<f64>max<f32>(0, sum * gain + offset)))
      a += 4
      b += 4
      d += 4
    }
  }
}

export function cellRow(src: usize, width: i32, height: i32, cellY: i32, dst: usize): void {
  const top = cellY * 16
  const bottom = min(height, top + 16)
  const low = i32x4.splat(0xffff)
  const evenRows = (bottom - top + 1) >> 1
  const oddRows = (bottom - top) >> 1
  for (let c = 0; c * 16 < width; c++) {
    const left = c * 16
    const columns = min(16, width - left)
    let s00: i32 = 0
    let s01: i32 = 0
    let s10: i32 = 0
    let s11: i32 = 0
    let peak: i32 = 0
    if (columns == 16) {
      let e0 = i32x4.splat(0)
      let o0 = i32x4.splat(0)
      let e1 = i32x4.splat(0)
      let o1 = i32x4.splat(0)
      let m = i16x8.splat(0)
      for (let y = top; y < bottom; y++) {
        const p = src + ((<usize>(y * width + left)) << 1)
        const u = v128.load(p)
        const v = v128.load(p, 16)
        m = i16x8.max_u(m, i16x8.max_u(u, v))
        const even = i32x4.add(v128.and(u, low), v128.and(v, low))
        const odd = i32x4.add(i32x4.shr_u(u, 16), i32x4.shr_u(v, 16))
        if (y & 1) {
          e1 = i32x4.add(e1, even)
          o1 = i32x4.add(o1, odd)
        } else {
          e0 = i32x4.add(e0, even)
          o0 = i32x4.add(o0, odd)
        }
      }
      s00 = total(e0)
      s01 = total(o0)
      s10 = total(e1)
      s11 = total(o1)
      m = i16x8.max_u(m, i8x16.shuffle(m, m, 8, 9, 10, 11, 12, 13, 14, 15, 0, 1, 2, 3, 4, 5, 6, 7))
      m = i16x8.max_u(m, i8x16.shuffle(m, m, 4, 5, 6, 7, 0, 1, 2, 3, 4, 5, 6, 7, 0, 1, 2, 3))
      peak = max(i16x8.extract_lane_u(m, 0), i16x8.extract_lane_u(m, 1))
    } else {
      for (let y = top; y < bottom; y++) {
        for (let x = 0; x < columns; x++) {
          const v = <i32>load<u16>(src + ((<usize>(y * width + left + x)) << 1))
          peak = max(peak, v)
          if (y & 1) {
            if (x & 1) s11 += v
            else s10 += v
          } else {
            if (x & 1) s01 += v
            else s00 += v
          }
        }
      }
    }
    const evenColumns = (columns + 1) >> 1
    const oddColumns = columns >> 1
    mean(dst, s00, evenRows * evenColumns)
    mean(dst + 4, s01, evenRows * oddColumns)
    mean(dst + 8, s10, oddRows * evenColumns)
    mean(dst + 12, s11, oddRows * oddColumns)
    store<f32>(dst, <f32>peak, 16)
    dst += 20
  }
}

// @ts-ignore: decorator
@inline
function total(v: v128): i32 {
  return i32x4.extract_lane(v, 0) + i32x4.extract_lane(v, 1) + i32x4.extract_lane(v, 2) + i32x4.extract_lane(v, 3)
}

// @ts-ignore: decorator
@inline
function mean(at: usize, sum: i32, count: i32): void {
  store<f32>(at, count > 0 ? <f32>(<f64>sum / <f64>count) : 0)
}
