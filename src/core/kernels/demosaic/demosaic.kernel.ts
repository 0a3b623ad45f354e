// Demosaic in single precision, four sites at a time. The method, its source and its units stand in demosaic.ts.
//
// A row is kept as two halves: its even columns, then its odd columns. Green and coloured sites alternate along a row, so
// each half is of one kind, and every stage does only what its kind needs. For a half of column parity a, the site's
// neighbours in the other half are Q[i−2+a] … Q[i+1+a] at x−3, x−1, x+1, x+3; with Q moved on by a samples the same code
// serves both halves.
//
// Rows stream through rings, so that one call needs memory for about 60 rows whatever its height. When row t has been
// encoded, differences exist to t−2, their changes along the column to t−3, D to t−6, X to t−9 and the result to t−10.
// Differences are kept four times too large: the quarter is taken once, at the end.

/** Samples on either side of a half: mirrored as far as any result looks, the rest keeps loads inside the row. */
const PAD: i32 = 8
const MARGIN: usize = 64
const EPSILON: f32 = 1e-30

// @ts-ignore: decorator
@inline
function mirroredIndex(index: i32, n: i32): i32 {
  const i = index < 0 ? -index : index
  if (i < n) return i
  const period = 2 * (n - 1)
  const j = i % period
  return j < n ? j : period - j
}

// @ts-ignore: decorator
@inline
function encoded(m: v128, toe: v128, root: v128): v128 {
  const sign = v128.and(m, i32x4.splat(i32.MIN_VALUE))
  const e = f32x4.sub(f32x4.sqrt(f32x4.sqrt(f32x4.add(f32x4.abs(m), toe))), root)
  return v128.or(e, sign)
}

// @ts-ignore: decorator
@inline
function decoded(e: v128, root: v128, root4: v128): v128 {
  const sign = v128.and(e, i32x4.splat(i32.MIN_VALUE))
  const a = f32x4.add(f32x4.abs(e), root)
  const b = f32x4.mul(a, a)
  return v128.xor(f32x4.sub(f32x4.mul(b, b), root4), sign)
}

/** One mosaic row → its two halves with mirrored ends. `half` = samples of a half in whole vectors, `gap` = bytes from half to half. */
function encodeRow(src: usize, width: i32, toe: f32, even: usize, half: i32, gap: usize): void {
  const odd = even + gap
  const t = f32x4.splat(toe)
  const root = f32x4.sqrt(f32x4.sqrt(t))
  const straight = toe <= 0
  const whole = width & ~7
  for (let x = 0; x < whole; x += 8) {
    const from = src + ((<usize>x) << 2)
    let a = v128.load(from)
    let b = v128.load(from, 16)
    if (!straight) {
      a = encoded(a, t, root)
      b = encoded(b, t, root)
    }
    const to = (<usize>x) << 1
    v128.store(even + to, v128.shuffle<f32>(a, b, 0, 2, 4, 6))
    v128.store(odd + to, v128.shuffle<f32>(a, b, 1, 3, 5, 7))
  }
  for (let x = whole; x < width; x++) {
    let v = v128.load_splat<f32>(src + ((<usize>x) << 2))
    if (!straight) v = encoded(v, t, root)
    f32.store((x & 1 ? odd : even) + ((<usize>(x >> 1)) << 2), f32x4.extract_lane(v, 0))
  }
  // Mirrored ends. The source of a mirrored sample has its parity, hence stands in the same half.
  for (let k = 1; k <= 2 * PAD; k++) {
    const x = mirroredIndex(-k, width)
    const side = k & 1 ? odd : even
    f32.store(side - ((<usize>((k + 1) >> 1)) << 2), f32.load(side + ((<usize>(x >> 1)) << 2)))
  }
  const last = 2 * (half + PAD)
  for (let k = width; k < last; k++) {
    const x = mirroredIndex(k, width)
    const side = k & 1 ? odd : even
    f32.store(side + ((<usize>(k >> 1)) << 2), f32.load(side + ((<usize>(x >> 1)) << 2)))
  }
}

/** Differences along row and column, for one half of a row. `q` is the other half of the row, moved on; `flip` is −0 at green sites. */
function differences(
  s: usize, q: usize, up2: usize, up1: usize, down1: usize, down2: usize,
  dh: usize, dv: usize, n: usize, flip: v128,
): void {
  for (let i: usize = 0; i < n; i += 16) {
    const e = v128.load(s + i)
    const h1 = f32x4.sub(f32x4.add(v128.load(q + i - 4), v128.load(q + i)), e)
    const h2 = f32x4.add(v128.load(s + i - 4), v128.load(s + i, 4))
    const v1 = f32x4.sub(f32x4.add(v128.load(up1 + i), v128.load(down1 + i)), e)
    const v2 = f32x4.add(v128.load(up2 + i), v128.load(down2 + i))
    v128.store(dh + i, v128.xor(f32x4.sub(f32x4.add(h1, h1), h2), flip))
    v128.store(dv + i, v128.xor(f32x4.sub(f32x4.add(v1, v1), v2), flip))
  }
}

/**
 * How the differences change, for one half: along the row at row r (summed over three rows into `ch`), along the column
 * at row r−1 (summed over the four rows that end there into `cv`).
 */
function changes(
  qh: usize, gh: usize, gh1: usize, gh2: usize, ch: usize,
  dv: usize, dvUp2: usize, gv: usize, gv1: usize, gv2: usize, gv3: usize, cv: usize, n: usize,
): void {
  for (let i: usize = 0; i < n; i += 16) {
    const h = f32x4.abs(f32x4.sub(v128.load(qh + i - 4), v128.load(qh + i)))
    v128.store(gh + i, h)
    v128.store(ch + i, f32x4.add(f32x4.add(v128.load(gh2 + i), v128.load(gh1 + i)), h))
    const v = f32x4.abs(f32x4.sub(v128.load(dvUp2 + i), v128.load(dv + i)))
    v128.store(gv + i, v)
    v128.store(
      cv + i,
      f32x4.add(f32x4.add(v128.load(gv3 + i), v128.load(gv2 + i)), f32x4.add(v128.load(gv1 + i), v)),
    )
  }
}

// @ts-ignore: decorator
@inline
function weight(s: v128): v128 {
  return f32x4.div(f32x4.splat(1), f32x4.add(f32x4.mul(s, s), f32x4.splat(EPSILON)))
}

// @ts-ignore: decorator
@inline
function sum4(a: v128, b: v128, c: v128, d: v128): v128 {
  return f32x4.add(f32x4.add(a, b), f32x4.add(c, d))
}

// @ts-ignore: decorator
@inline
function sum3(at: usize, q: usize): v128 {
  return f32x4.add(f32x4.add(v128.load(q - 4), v128.load(q)), v128.load(at))
}

/** D of the coloured half of a row: the weighted mean of the four directions. */
function weighted(
  dh: usize, qh: usize, ch: usize, qch: usize,
  dv: usize, up1: usize, up2: usize, up3: usize, down1: usize, down2: usize, down3: usize,
  cvUp: usize, qcvUp: usize, cvDown: usize, qcvDown: usize, out: usize, n: usize,
): void {
  const sixteenth = f32x4.splat(1 / 16)
  for (let i: usize = 0; i < n; i += 16) {
    const h0 = v128.load(dh + i)
    const west = sum4(h0, v128.load(qh + i - 4), v128.load(dh + i - 4), v128.load(qh + i - 8))
    const east = sum4(h0, v128.load(qh + i), v128.load(dh + i, 4), v128.load(qh + i, 4))
    const c0 = v128.load(ch + i)
    const wWest = weight(sum4(c0, v128.load(qch + i - 4), v128.load(ch + i - 4), v128.load(qch + i - 8)))
    const wEast = weight(sum4(c0, v128.load(qch + i), v128.load(ch + i, 4), v128.load(qch + i, 4)))
    const v0 = v128.load(dv + i)
    const north = sum4(v0, v128.load(up1 + i), v128.load(up2 + i), v128.load(up3 + i))
    const south = sum4(v0, v128.load(down1 + i), v128.load(down2 + i), v128.load(down3 + i))
    const wNorth = weight(sum3(cvUp + i, qcvUp + i))
    const wSouth = weight(sum3(cvDown + i, qcvDown + i))
    const total = sum4(
      f32x4.mul(wNorth, north), f32x4.mul(wSouth, south), f32x4.mul(wWest, west), f32x4.mul(wEast, east),
    )
    const weights = sum4(wNorth, wSouth, wWest, wEast)
    v128.store(out + i, f32x4.div(f32x4.mul(total, sixteenth), weights))
  }
}

/** X of the coloured half of a row, from D of the rows one and three away (all moved on to this half). */
function diagonals(up3: usize, up1: usize, down1: usize, down3: usize, out: usize, n: usize): void {
  const ten = f32x4.splat(10 / 32)
  const one = f32x4.splat(1 / 32)
  for (let i: usize = 0; i < n; i += 16) {
    const near = sum4(v128.load(up1 + i - 4), v128.load(up1 + i), v128.load(down1 + i - 4), v128.load(down1 + i))
    const wide = sum4(v128.load(up1 + i - 8), v128.load(up1 + i, 4), v128.load(down1 + i - 8), v128.load(down1 + i, 4))
    const tall = sum4(v128.load(up3 + i - 4), v128.load(up3 + i), v128.load(down3 + i - 4), v128.load(down3 + i))
    v128.store(out + i, f32x4.sub(f32x4.mul(near, ten), f32x4.mul(f32x4.add(wide, tall), one)))
  }
}

/** Eight pixels of one plane from its even and odd columns. */
// @ts-ignore: decorator
@inline
function interleave(to: usize, even: v128, odd: v128): void {
  v128.store(to, v128.shuffle<f32>(even, odd, 0, 4, 1, 5))
  v128.store(to, v128.shuffle<f32>(even, odd, 2, 6, 3, 7), 16)
}

/**
 * The result of one row, eight pixels at a time: `own` is the plane of the row's colour, `opposite` that of the other.
 * `a` = column parity of the coloured sites. d, x: D and X of this row; the others of the rows above and below.
 */
function resultRow(
  src: usize, e: usize, gap: usize, a: i32, toe: f32,
  d: usize, x: usize, dUp: usize, xUp: usize, dDown: usize, xDown: usize,
  own: usize, green: usize, opposite: usize, pixels: i32,
): void {
  const root = f32x4.sqrt(f32x4.sqrt(f32x4.splat(toe)))
  // Not toe itself: so nought comes back as nought.
  const root2 = f32x4.mul(root, root)
  const root4 = f32x4.mul(root2, root2)
  const straight = toe <= 0
  const quarter = f32x4.splat(0.25)
  const coloured = a ? e + gap : e
  const greens = a ? e : e + gap
  const move: usize = a ? 0 : 4
  const n = (<usize>pixels) << 1
  for (let i: usize = 0; i < n; i += 16) {
    const first = v128.load(src + (i << 1))
    const second = v128.load(src + (i << 1), 16)
    const even = v128.shuffle<f32>(first, second, 0, 2, 4, 6)
    const odd = v128.shuffle<f32>(first, second, 1, 3, 5, 7)
    const d0 = v128.load(d + i)
    const x0 = v128.load(x + i)
    let greenAt = f32x4.add(v128.load(coloured + i), d0)
    let oppositeAt = f32x4.sub(greenAt, x0)
    const g = v128.load(greens + i)
    const dPair = f32x4.add(v128.load(d + move + i - 4), v128.load(d + move + i))
    const xPair = f32x4.add(v128.load(x + move + i - 4), v128.load(x + move + i))
    const dColumn = f32x4.add(v128.load(dUp + i), v128.load(dDown + i))
    const xColumn = f32x4.add(v128.load(xUp + i), v128.load(xDown + i))
    let ownAt = f32x4.sub(g, f32x4.mul(f32x4.add(dPair, xColumn), quarter))
    let otherAt = f32x4.sub(g, f32x4.mul(f32x4.add(xPair, dColumn), quarter))
    if (!straight) {
      greenAt = decoded(greenAt, root, root4)
      oppositeAt = decoded(oppositeAt, root, root4)
      ownAt = decoded(ownAt, root, root4)
      otherAt = decoded(otherAt, root, root4)
    }
    const to = i << 1
    if (a) {
      interleave(own + to, ownAt, odd)
      interleave(green + to, even, greenAt)
      interleave(opposite + to, otherAt, oppositeAt)
    } else {
      interleave(own + to, even, ownAt)
      interleave(green + to, greenAt, odd)
      interleave(opposite + to, oppositeAt, otherAt)
    }
  }
}

// @ts-ignore: decorator
@inline
function ring(base: usize, row: i32, rows: i32, bytes: usize): usize {
  return base + <usize>(row & (rows - 1)) * bytes
}

export function demosaicRows(
  mosaic: usize, width: i32, height: i32, y0: i32, y1: i32, phase: i32, toe: f32,
  red: usize, green: usize, blue: usize, stride: i32, scratch: usize,
): void {
  const half = (((width + 1) >> 1) + 3) & ~3
  const gap = (<usize>(half + 32)) << 2
  const line = gap << 1
  const e = scratch + MARGIN
  const dh = e + 16 * line
  const dv = dh + 8 * line
  const ch = dv + 8 * line
  const cv = ch + 4 * line
  const gh = cv + 4 * line
  const gv = gh + 4 * line
  const d = gv + 4 * line
  const x = d + 8 * gap
  const spare = x + 4 * gap
  // Every stage runs this much wider than the picture; what lies beyond the mirrored ends is never used.
  const before = (<usize>PAD) << 2
  const n = (<usize>(half + 2 * PAD)) << 2
  const redRow = phase >> 1
  const parity = (redRow + phase) & 1

  for (let t = y0 - 10; t < y1 + 10; t++) {
    encodeRow(
      mosaic + (<usize>mirroredIndex(t, height)) * ((<usize>width) << 2), width, toe, ring(e, t, 16, line), half, gap,
    )
    const r = t - 2
    if (r < y0 - 8) continue
    for (let a: i32 = 0; a < 2; a++) {
      const mine = (a ? gap : <usize>0) - before
      const other = (a ? <usize>4 : gap) - before
      const isGreen = ((r + parity) & 1) != a
      differences(
        ring(e, r, 16, line) + mine, ring(e, r, 16, line) + other,
        ring(e, r - 2, 16, line) + mine, ring(e, r - 1, 16, line) + mine,
        ring(e, r + 1, 16, line) + mine, ring(e, r + 2, 16, line) + mine,
        ring(dh, r, 8, line) + mine, ring(dv, r, 8, line) + mine, n, i32x4.splat(isGreen ? i32.MIN_VALUE : 0),
      )
    }
    for (let a: i32 = 0; a < 2; a++) {
      const mine = (a ? gap : <usize>0) - before
      const other = (a ? <usize>4 : gap) - before
      changes(
        ring(dh, r, 8, line) + other, ring(gh, r, 4, line) + mine, ring(gh, r - 1, 4, line) + mine,
        ring(gh, r - 2, 4, line) + mine, ring(ch, r - 1, 4, line) + mine,
        ring(dv, r, 8, line) + mine, ring(dv, r - 2, 8, line) + mine, ring(gv, r - 1, 4, line) + mine,
        ring(gv, r - 2, 4, line) + mine, ring(gv, r - 3, 4, line) + mine, ring(gv, r - 4, 4, line) + mine,
        ring(cv, r - 4, 4, line) + mine, n,
      )
    }
    const u = r - 4
    if (u < y0 - 4) continue
    {
      const a = (u + parity) & 1
      const mine = (a ? gap : <usize>0) - before
      const other = (a ? <usize>4 : gap) - before
      weighted(
        ring(dh, u, 8, line) + mine, ring(dh, u, 8, line) + other, ring(ch, u, 4, line) + mine,
        ring(ch, u, 4, line) + other, ring(dv, u, 8, line) + mine,
        ring(dv, u - 1, 8, line) + mine, ring(dv, u - 2, 8, line) + mine, ring(dv, u - 3, 8, line) + mine,
        ring(dv, u + 1, 8, line) + mine, ring(dv, u + 2, 8, line) + mine, ring(dv, u + 3, 8, line) + mine,
        ring(cv, u - 3, 4, line) + mine, ring(cv, u - 3, 4, line) + other,
        ring(cv, u, 4, line) + mine, ring(cv, u, 4, line) + other, ring(d, u, 8, gap) - before, n,
      )
    }
    const w = u - 3
    if (w < y0 - 1) continue
    {
      const move = ((w + parity) & 1 ? <usize>4 : <usize>0) - before
      diagonals(
        ring(d, w - 3, 8, gap) + move, ring(d, w - 1, 8, gap) + move, ring(d, w + 1, 8, gap) + move,
        ring(d, w + 3, 8, gap) + move, ring(x, w, 4, gap) - before, n,
      )
    }
    const y = w - 1
    if (y < y0) continue
    const redLine = ((y + redRow) & 1) == 0
    const to = (<usize>y) * ((<usize>stride) << 2)
    const own = (redLine ? red : blue) + to
    const mid = green + to
    const opposite = (redLine ? blue : red) + to
    const src = mosaic + (<usize>y) * ((<usize>width) << 2)
    const a = (y + parity) & 1
    const whole = width & ~7
    resultRow(
      src, ring(e, y, 16, line), gap, a, toe, ring(d, y, 8, gap), ring(x, y, 4, gap),
      ring(d, y - 1, 8, gap), ring(x, y - 1, 4, gap), ring(d, y + 1, 8, gap), ring(x, y + 1, 4, gap),
      own, mid, opposite, whole,
    )
    const rest = width - whole
    if (rest > 0) {
      // The last few pixels by way of a spare place: a store past the row's end would reach into another's strip.
      const skip = (<usize>whole) << 1
      const tail = (<usize>whole) << 2
      const bytes = (<usize>rest) << 2
      memory.copy(spare, src + tail, bytes)
      resultRow(
        spare, ring(e, y, 16, line) + skip, gap, a, toe, ring(d, y, 8, gap) + skip, ring(x, y, 4, gap) + skip,
        ring(d, y - 1, 8, gap) + skip, ring(x, y - 1, 4, gap) + skip,
        ring(d, y + 1, 8, gap) + skip, ring(x, y + 1, 4, gap) + skip, spare + 32, spare + 64, spare + 96, 8,
      )
      memory.copy(own + tail, spare + 32, bytes)
      memory.copy(mid + tail, spare + 64, bytes)
      memory.copy(opposite + tail, spare + 96, bytes)
    }
  }
}
