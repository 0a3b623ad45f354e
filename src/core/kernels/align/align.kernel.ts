// Gauss–Newton sums, eight reference pixels at a time; see align.ts for the definition. The eight share one source offset
// and phase, that of their middle: at 1° of turn the outer ones are 0.06 px off, and the error has zero mean over them.

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
function along(a: v128, b: v128, w0: v128, w1: v128, w2: v128, w3: v128): v128 {
  return f32x4.add(
    f32x4.add(f32x4.mul(a, w0), f32x4.mul(v128.shuffle<i32>(a, b, 1, 2, 3, 4), w1)),
    f32x4.add(f32x4.mul(v128.shuffle<i32>(a, b, 2, 3, 4, 5), w2), f32x4.mul(v128.shuffle<i32>(a, b, 3, 4, 5, 6), w3)),
  )
}

/** The largest of the four nearest samples of each of four pixels; p is the upper left of the first. */
// @ts-ignore: decorator
@inline
function nearest(p: usize, rowBytes: usize): v128 {
  return f32x4.pmax(f32x4.pmax(v128.load(p), v128.load(p, 4)), f32x4.pmax(v128.load(p + rowBytes), v128.load(p + rowBytes, 4)))
}

// @ts-ignore: decorator
@inline
function total(v: v128): f64 {
  return <f64>f32x4.extract_lane(v, 0) + <f64>f32x4.extract_lane(v, 1) + <f64>f32x4.extract_lane(v, 2) + <f64>f32x4.extract_lane(v, 3)
}

// @ts-ignore: decorator
@inline
function addTo(at: usize, v: v128): void {
  store<f64>(at, load<f64>(at) + total(v))
}

export function alignSums(reference: usize, moving: usize, width: i32, height: i32, x0: i32, x1: i32, y0: i32, y1: i32, motion: usize, table: usize, tau: f32, ceiling: f32, out: usize): void {
  const c = load<f32>(motion)
  const s = load<f32>(motion, 4)
  const tx = load<f32>(motion, 8)
  const ty = load<f32>(motion, 12)
  const cx = load<f32>(motion, 16)
  const cy = load<f32>(motion, 20)
  const rowBytes = <usize>width << 2
  const half = f32x4.splat(0.5)
  const one = f32x4.splat(1)
  const inverseTau2 = f32x4.splat(<f32>1 / (tau * tau))
  const limit = f32x4.splat(ceiling)
  const lanes = f32x4(0, 1, 2, 3)
  if (x1 - x0 < 8) return
  for (let y = y0; y < y1; y++) {
    const dy = <f32>y - cy
    const dyv = f32x4.splat(dy)
    let xx = f32x4.splat(0)
    let xy = f32x4.splat(0)
    let xt = f32x4.splat(0)
    let yy = f32x4.splat(0)
    let yt = f32x4.splat(0)
    let tt = f32x4.splat(0)
    let xr = f32x4.splat(0)
    let yr = f32x4.splat(0)
    let tr = f32x4.splat(0)
    let ws = f32x4.splat(0)
    let rr = f32x4.splat(0)
    for (let x = x0; x < x1; x += 8) {
      // A last group that would reach past x1 starts earlier and masks the pixels already counted.
      const start = x + 8 <= x1 ? x : x1 - 8
      const middle = <f32>start + <f32>3.5 - cx
      const sx = cx + c * middle - s * dy + tx - <f32>3.5
      const sy = cy + s * middle + c * dy + ty
      const ix = <i32>floor<f32>(sx)
      const iy = <i32>floor<f32>(sy)
      if (ix < 1 || iy < 1 || ix + 9 >= width || iy + 2 >= height) continue
      const px = table + ((<usize><i32>floor<f32>((sx - <f32>ix) * 256 + <f32>0.5)) << 4)
      const py = table + ((<usize><i32>floor<f32>((sy - <f32>iy) * 256 + <f32>0.5)) << 4)
      const y0w = v128.load32_splat(py)
      const y1w = v128.load32_splat(py, 4)
      const y2w = v128.load32_splat(py, 8)
      const y3w = v128.load32_splat(py, 12)
      const m = moving + rowBytes * <usize>(iy - 1) + ((<usize>(ix - 1)) << 2)
      const d0 = down(m, rowBytes, y0w, y1w, y2w, y3w)
      const d1 = down(m + 16, rowBytes, y0w, y1w, y2w, y3w)
      const d2 = down(m + 32, rowBytes, y0w, y1w, y2w, y3w)
      const x0w = v128.load32_splat(px)
      const x1w = v128.load32_splat(px, 4)
      const x2w = v128.load32_splat(px, 8)
      const x3w = v128.load32_splat(px, 12)
      for (let part: usize = 0; part < 2; part++) {
        const value = part == 0 ? along(d0, d1, x0w, x1w, x2w, x3w) : along(d1, d2, x0w, x1w, x2w, x3w)
        const first = start + (<i32>part << 2)
        const at = reference + rowBytes * <usize>y + (<usize>first << 2)
        const here = v128.load(at)
        const l = v128.load(at - 4)
        const r0 = v128.load(at + 4)
        const u = v128.load(at - rowBytes)
        const d = v128.load(at + rowBytes)
        const highest = f32x4.pmax(
          nearest(m + rowBytes + 4 + (part << 4), rowBytes),
          f32x4.pmax(here, f32x4.pmax(f32x4.pmax(l, r0), f32x4.pmax(u, d))),
        )
        let use = f32x4.lt(highest, limit)
        if (start != x) use = v128.and(use, f32x4.ge(lanes, f32x4.splat(<f32>(x - first))))
        const gx = f32x4.mul(f32x4.sub(r0, l), half)
        const gy = f32x4.mul(f32x4.sub(d, u), half)
        const r = f32x4.sub(value, here)
        const w = v128.and(f32x4.div(one, f32x4.add(one, f32x4.mul(f32x4.mul(r, r), inverseTau2))), use)
        const dx = f32x4.add(f32x4.splat(<f32>first - cx), lanes)
        const gt = f32x4.sub(f32x4.mul(gy, dx), f32x4.mul(gx, dyv))
        const wx = f32x4.mul(w, gx)
        const wy = f32x4.mul(w, gy)
        const wt = f32x4.mul(w, gt)
        xx = f32x4.add(xx, f32x4.mul(wx, gx))
        xy = f32x4.add(xy, f32x4.mul(wx, gy))
        xt = f32x4.add(xt, f32x4.mul(wx, gt))
        yy = f32x4.add(yy, f32x4.mul(wy, gy))
        yt = f32x4.add(yt, f32x4.mul(wy, gt))
        tt = f32x4.add(tt, f32x4.mul(wt, gt))
        xr = f32x4.add(xr, f32x4.mul(wx, r))
        yr = f32x4.add(yr, f32x4.mul(wy, r))
        tr = f32x4.add(tr, f32x4.mul(wt, r))
        ws = f32x4.add(ws, w)
        rr = f32x4.add(rr, f32x4.mul(f32x4.mul(w, r), r))
      }
    }
    addTo(out, xx)
    addTo(out + 8, xy)
    addTo(out + 16, xt)
    addTo(out + 24, yy)
    addTo(out + 32, yt)
    addTo(out + 40, tt)
    addTo(out + 48, xr)
    addTo(out + 56, yr)
    addTo(out + 64, tr)
    addTo(out + 72, ws)
    addTo(out + 80, rr)
  }
}
