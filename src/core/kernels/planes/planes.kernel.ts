// Mosaic to planes; see planes.ts for the definition. Same order of operations, so bit for bit the same.

const PAD: usize = 8

// @ts-ignore: decorator
@inline
function mirror(i: i32, n: i32): i32 {
  return i < 0 ? -i : i >= n ? 2 * n - 2 - i : i
}

export function linearRows(src: usize, width: i32, height: i32, yFrom: i32, rows: i32, levels: usize, dst: usize, stride: i32): void {
  for (let r = 0; r < rows; r++) {
    const y = mirror(yFrom + r, height)
    const from = src + ((<usize>y * <usize>width) << 1)
    const to = dst + ((<usize>(r * stride) + PAD) << 2)
    const level = levels + ((<usize>(y & 1)) << 3)
    const black = v128.load64_splat(level)
    const scale = v128.load64_splat(level, 16)
    let x = 0
    for (; x + 8 <= width; x += 8) {
      const v = v128.load(from + (<usize>x << 1))
      const lo = f32x4.convert_i32x4_u(i32x4.extend_low_i16x8_u(v))
      const hi = f32x4.convert_i32x4_u(i32x4.extend_high_i16x8_u(v))
      v128.store(to + (<usize>x << 2), f32x4.mul(f32x4.sub(lo, black), scale))
      v128.store(to + (<usize>x << 2), f32x4.mul(f32x4.sub(hi, black), scale), 16)
    }
    for (; x < width; x++) {
      const p = (<usize>(x & 1)) << 2
      store<f32>(to + (<usize>x << 2), (<f32>load<u16>(from + (<usize>x << 1)) - load<f32>(level + p)) * load<f32>(level + p, 16))
    }
    store<f32>(to - 4, load<f32>(to + 4))
    store<f32>(to - 8, load<f32>(to + 8))
    const end = to + (<usize>width << 2)
    store<f32>(end, load<f32>(end - 8))
    store<f32>(end + 4, load<f32>(end - 12))
  }
}

export function planeRows(lin: usize, stride: i32, width: i32, yFrom: i32, rows: i32, redPhase: i32, red: usize, green: usize, blue: usize, peak: usize, work: usize): void {
  const rowBytes = <usize>stride << 2
  const eighth = f32x4.splat(0.125)
  const half = f32x4.splat(0.5)
  const oneHalf = f32x4.splat(1.5)
  const two = f32x4.splat(2)
  const four = f32x4.splat(4)
  const five = f32x4.splat(5)
  const six = f32x4.splat(6)
  for (let r = 0; r < rows; r++) {
    const redRow = ((yFrom + r) & 1) == redPhase >> 1
    const parity = redRow ? redPhase & 1 : 1 - (redPhase & 1)
    const chroma = parity ? i32x4(0, -1, 0, -1) : i32x4(-1, 0, -1, 0)
    const o = rowBytes * <usize>r + (PAD << 2)
    const own = (redRow ? red : blue) + o
    const other = (redRow ? blue : red) + o
    const g = green + o
    const c0 = lin + rowBytes * <usize>(r + 2) + (PAD << 2)
    for (let x: usize = 0; x < <usize>width << 2; x += 16) {
      const c = c0 + x
      const here = v128.load(c)
      const e1 = f32x4.add(v128.load(c - 4), v128.load(c + 4))
      const v1 = f32x4.add(v128.load(c - rowBytes), v128.load(c + rowBytes))
      const e2 = f32x4.add(v128.load(c - 8), v128.load(c + 8))
      const v2 = f32x4.add(v128.load(c - 2 * rowBytes), v128.load(c + 2 * rowBytes))
      const d = f32x4.add(
        f32x4.add(v128.load(c - rowBytes - 4), v128.load(c - rowBytes + 4)),
        f32x4.add(v128.load(c + rowBytes - 4), v128.load(c + rowBytes + 4)),
      )
      const sum2 = f32x4.add(e2, v2)
      const gAtChroma = f32x4.mul(f32x4.add(f32x4.mul(four, here), f32x4.sub(f32x4.mul(two, f32x4.add(e1, v1)), sum2)), eighth)
      const oAtChroma = f32x4.mul(f32x4.add(f32x4.mul(six, here), f32x4.sub(f32x4.mul(two, d), f32x4.mul(oneHalf, sum2))), eighth)
      const base = f32x4.sub(f32x4.mul(five, here), d)
      const ownAtGreen = f32x4.mul(f32x4.add(base, f32x4.add(f32x4.sub(f32x4.mul(four, e1), e2), f32x4.mul(half, v2))), eighth)
      const otherAtGreen = f32x4.mul(f32x4.add(base, f32x4.add(f32x4.sub(f32x4.mul(four, v1), v2), f32x4.mul(half, e2))), eighth)
      v128.store(own + x, v128.bitselect(here, ownAtGreen, chroma))
      v128.store(g + x, v128.bitselect(gAtChroma, here, chroma))
      v128.store(other + x, v128.bitselect(oAtChroma, otherAtGreen, chroma))
    }
  }
  peakRows(lin, stride, width, rows, peak, work)
}

export function peakRows(lin: usize, stride: i32, width: i32, rows: i32, peak: usize, work: usize): void {
  const rowBytes = <usize>stride << 2
  const pad = PAD << 2
  for (let r = 0; r < rows; r++) {
    // The column maxima first, then along the row: ten loads instead of twenty-five.
    const top = lin + rowBytes * <usize>r
    for (let x: usize = pad - 16; x < pad + (<usize>width << 2) + 16; x += 16) {
      const p = top + x
      let m = f32x4.pmax(v128.load(p), v128.load(p + rowBytes))
      m = f32x4.pmax(m, f32x4.pmax(v128.load(p + 2 * rowBytes), v128.load(p + 3 * rowBytes)))
      v128.store(work + x, f32x4.pmax(m, v128.load(p + 4 * rowBytes)))
    }
    const to = peak + rowBytes * <usize>r
    for (let x: usize = pad; x < pad + (<usize>width << 2); x += 16) {
      const p = work + x
      let m = f32x4.pmax(v128.load(p - 8), v128.load(p - 4))
      m = f32x4.pmax(m, f32x4.pmax(v128.load(p), v128.load(p + 4)))
      v128.store(to + x, f32x4.pmax(m, v128.load(p + 8)))
    }
  }
}
