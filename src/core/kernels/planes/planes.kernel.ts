// Mosaic to planes; see planes.ts for the definition. Same order of operations, so bit for bit the same.

const PAD: usize = 8

// @ts-ignore: decorator
@inline
function mirror(i: i32, n: i32): i32 {
  return i < 0 ? -i : i >= n ? 2 * n - 2 - i : i
}

// @ts-ignore: decorator
@inline
function level(from: usize, x: i32, width: i32, levels: usize): f32 {
  const sx = mirror(x, width)
  const p = (<usize>(sx & 1)) << 2
  return (<f32>load<u16>(from + (<usize>sx << 1)) - load<f32>(levels + p)) * load<f32>(levels + p, 16)
}

export function linearRows(src: usize, width: i32, height: i32, xFrom: i32, columns: i32, yFrom: i32, rows: i32, levels: usize, dst: usize, stride: i32): void {
  for (let r = 0; r < rows; r++) {
    const y = mirror(yFrom + r, height)
    const from = src + ((<usize>y * <usize>width) << 1)
    const to = dst + ((<usize>(r * stride) + PAD) << 2)
    const rowLevels = levels + ((<usize>(y & 1)) << 3)
    const black = v128.load64_splat(rowLevels)
    const scale = v128.load64_splat(rowLevels, 16)
    const start = from + (<usize>xFrom << 1)
    let x = 0
    for (; x + 8 <= columns; x += 8) {
      const v = v128.load(start + (<usize>x << 1))
      const lo = f32x4.convert_i32x4_u(i32x4.extend_low_i16x8_u(v))
      const hi = f32x4.convert_i32x4_u(i32x4.extend_high_i16x8_u(v))
      v128.store(to + (<usize>x << 2), f32x4.mul(f32x4.sub(lo, black), scale))
      v128.store(to + (<usize>x << 2), f32x4.mul(f32x4.sub(hi, black), scale), 16)
    }
    for (; x < columns + 2; x++) store<f32>(to + (<usize>x << 2), level(from, xFrom + x, width, rowLevels))
    store<f32>(to - 4, level(from, xFrom - 1, width, rowLevels))
    store<f32>(to - 8, level(from, xFrom - 2, width, rowLevels))
  }
}

/** How far the square of k = m·c stands out of the noise, in the plain twin's terms k² − ¾·noise·g², or 0. */
// @ts-ignore: decorator
@inline
function standingOut(k: v128, noise: v128, g2: v128): v128 {
  return f32x4.pmax(f32x4.splat(0), f32x4.sub(f32x4.mul(k, k), f32x4.mul(f32x4.splat(0.75), f32x4.mul(noise, g2))))
}

/** Mean plus what stands out of the curvature by the colours' ratio; `value` of the plain twin. */
// @ts-ignore: decorator
@inline
function shrunk(mean: v128, k: v128, k2: v128, noise: v128, g2: v128): v128 {
  const below = f32x4.add(f32x4.mul(f32x4.sqrt(g2), f32x4.add(k2, f32x4.mul(noise, g2))), f32x4.splat(<f32>1e-15))
  return f32x4.add(mean, f32x4.div(f32x4.mul(k, k2), below))
}

/** Where the others clip: the mean of an even neighbourhood, the mark of clipping for any other. */
// @ts-ignore: decorator
@inline
function uncorrected(mean: v128, high: v128, low: v128, noise: v128, clip: v128): v128 {
  const spread = f32x4.sub(high, low)
  return v128.bitselect(clip, mean, f32x4.gt(f32x4.mul(spread, spread), f32x4.mul(f32x4.splat(4), noise)))
}

// @ts-ignore: decorator
@inline
function max4(a: v128, b: v128, c: v128, d: v128): v128 {
  return f32x4.pmax(f32x4.pmax(a, b), f32x4.pmax(c, d))
}

// @ts-ignore: decorator
@inline
function min4(a: v128, b: v128, c: v128, d: v128): v128 {
  return f32x4.pmin(f32x4.pmin(a, b), f32x4.pmin(c, d))
}

/** 1 when any sample of a row, its two mirrored ones either side included, is at least `clip`. */
function reaches(row: usize, columns: i32, clip: v128): u32 {
  const from = row + (PAD << 2) - 8
  const end = from + (<usize>columns << 2)
  let most = v128.load(end)
  for (let p = from; p < end; p += 16) most = f32x4.pmax(most, v128.load(p))
  return v128.any_true(f32x4.ge(most, clip)) ? 1 : 0
}

/** Columns 0, 2, 4, 6 of the eight from `at` on, and 1, 3, 5, 7. */
// @ts-ignore: decorator
@inline
function evens(at: usize): v128 {
  return v128.shuffle<f32>(v128.load(at), v128.load(at, 16), 0, 2, 4, 6)
}

// @ts-ignore: decorator
@inline
function odds(at: usize): v128 {
  return v128.shuffle<f32>(v128.load(at), v128.load(at, 16), 1, 3, 5, 7)
}

/** Eight columns from their evens and odds. */
// @ts-ignore: decorator
@inline
function storeTurns(at: usize, even: v128, odd: v128): void {
  v128.store(at, v128.shuffle<f32>(even, odd, 0, 4, 1, 5))
  v128.store(at, v128.shuffle<f32>(even, odd, 2, 6, 3, 7), 16)
}

/**
 * A row far from clipping, eight columns at a time with chroma sites and green sites apart, so that nothing is worked out
 * for both kinds and then chosen. `from` is a chroma site, at column 0 or one left of it; up to nine columns are written past the last.
 */
function clearRow(from: usize, rowBytes: usize, bytes: usize, s: v128, o: v128, alike: usize, unlike: usize, planeBytes: usize): void {
  const zero = f32x4.splat(0)
  const eighth = f32x4.splat(0.125)
  const half = f32x4.splat(0.5)
  for (let x: usize = 0; x < bytes; x += 32) {
    const c = from + x
    const n = c - rowBytes
    const u = c + rowBytes
    const chroma = evens(c)
    const green = odds(c)
    const greenLeft = odds(c - 8)
    const chromaRight = evens(c + 8)
    const nEven = evens(n)
    const nOdd = odds(n)
    const uEven = evens(u)
    const uOdd = odds(u)

    // Chroma sites: green from the four about it, the opposite colour from the four corners.
    let e1 = f32x4.add(greenLeft, green)
    let v1 = f32x4.add(nEven, uEven)
    let e2 = f32x4.add(evens(c - 8), chromaRight)
    let v2 = f32x4.add(evens(c - 2 * rowBytes), evens(c + 2 * rowBytes))
    let d = f32x4.add(f32x4.add(odds(n - 8), nOdd), f32x4.add(odds(u - 8), uOdd))
    const sum2 = f32x4.add(e2, v2)
    const greenMean = f32x4.mul(f32x4.add(e1, v1), f32x4.splat(0.25))
    const cornerMean = f32x4.mul(d, f32x4.splat(0.25))
    let local = f32x4.mul(f32x4.add(chroma, sum2), f32x4.splat(0.2))
    let light = v128.and(f32x4.mul(local, local), f32x4.gt(local, zero))
    const greenNoise = f32x4.add(f32x4.mul(s, f32x4.pmax(zero, greenMean)), o)
    const cornerNoise = f32x4.add(f32x4.mul(s, f32x4.pmax(zero, cornerMean)), o)
    const greenG2 = f32x4.pmax(greenNoise, light)
    const cornerG2 = f32x4.pmax(cornerNoise, light)
    const greenBend = f32x4.sub(f32x4.mul(f32x4.splat(4), chroma), sum2)
    const cornerBend = f32x4.sub(f32x4.mul(f32x4.splat(6), chroma), f32x4.mul(f32x4.splat(1.5), sum2))
    const greenK = f32x4.mul(f32x4.pmax(zero, greenMean), f32x4.mul(greenBend, eighth))
    const cornerK = f32x4.mul(f32x4.pmax(zero, cornerMean), f32x4.mul(cornerBend, eighth))
    const greenK2 = standingOut(greenK, greenNoise, greenG2)
    const cornerK2 = standingOut(cornerK, cornerNoise, cornerG2)
    let greenHere = greenMean
    let cornerHere = cornerMean
    if (v128.any_true(f32x4.gt(f32x4.pmax(greenK2, cornerK2), zero))) {
      greenHere = shrunk(greenMean, greenK, greenK2, greenNoise, greenG2)
      cornerHere = shrunk(cornerMean, cornerK, cornerK2, cornerNoise, cornerG2)
    }

    // Green sites: the row's colour from either side, the other from above and below.
    e1 = f32x4.add(chroma, chromaRight)
    v1 = f32x4.add(nOdd, uOdd)
    e2 = f32x4.add(greenLeft, odds(c + 8))
    v2 = f32x4.add(odds(c - 2 * rowBytes), odds(c + 2 * rowBytes))
    d = f32x4.add(f32x4.add(nEven, evens(n + 8)), f32x4.add(uEven, evens(u + 8)))
    const base = f32x4.sub(f32x4.mul(f32x4.splat(5), green), d)
    const sideMean = f32x4.mul(e1, half)
    const overMean = f32x4.mul(v1, half)
    local = f32x4.add(f32x4.mul(green, f32x4.splat(<f32>(1.0 / 6.0))), f32x4.mul(d, f32x4.splat(<f32>(5.0 / 24.0))))
    light = v128.and(f32x4.mul(local, local), f32x4.gt(local, zero))
    const sideNoise = f32x4.add(f32x4.mul(s, f32x4.pmax(zero, sideMean)), o)
    const overNoise = f32x4.add(f32x4.mul(s, f32x4.pmax(zero, overMean)), o)
    const sideG2 = f32x4.pmax(sideNoise, light)
    const overG2 = f32x4.pmax(overNoise, light)
    const sideBend = f32x4.add(base, f32x4.sub(f32x4.mul(half, v2), e2))
    const overBend = f32x4.add(base, f32x4.sub(f32x4.mul(half, e2), v2))
    const sideK = f32x4.mul(f32x4.pmax(zero, sideMean), f32x4.mul(sideBend, eighth))
    const overK = f32x4.mul(f32x4.pmax(zero, overMean), f32x4.mul(overBend, eighth))
    const sideK2 = standingOut(sideK, sideNoise, sideG2)
    const overK2 = standingOut(overK, overNoise, overG2)
    let sideHere = sideMean
    let overHere = overMean
    if (v128.any_true(f32x4.gt(f32x4.pmax(sideK2, overK2), zero))) {
      sideHere = shrunk(sideMean, sideK, sideK2, sideNoise, sideG2)
      overHere = shrunk(overMean, overK, overK2, overNoise, overG2)
    }

    v128.store(alike + x, v128.load(c))
    v128.store(alike + x, v128.load(c, 16), 16)
    storeTurns(alike + planeBytes + x, greenHere, sideHere)
    storeTurns(unlike + x, greenHere, overHere)
    storeTurns(unlike + planeBytes + x, cornerHere, green)
  }
}

export function planeRows(lin: usize, stride: i32, columns: i32, yFrom: i32, rows: i32, redPhase: i32, noiseScale: f32, noiseOffset: f32, clip: f32, mark: i32, out: usize, planeBytes: i32): void {
  const rowBytes = <usize>stride << 2
  const eighth = f32x4.splat(0.125)
  const quarter = f32x4.splat(0.25)
  const half = f32x4.splat(0.5)
  const oneHalf = f32x4.splat(1.5)
  const four = f32x4.splat(4)
  const five = f32x4.splat(5)
  const six = f32x4.splat(6)
  const zero = f32x4.splat(0)
  const fifth = f32x4.splat(0.2)
  const sixth = f32x4.splat(<f32>(1.0 / 6.0))
  const fiveOf24 = f32x4.splat(<f32>(5.0 / 24.0))
  const s = f32x4.splat(noiseScale)
  const o = f32x4.splat(noiseOffset)
  const top = f32x4.splat(clip)
  // One bit for each of the five rows about this one: whether any of it is clipped.
  let clippedRows: u32 = 0
  for (let r = 0; r < 4; r++) clippedRows |= reaches(lin + rowBytes * <usize>r, columns, top) << r
  for (let r = 0; r < rows; r++) {
    clippedRows |= reaches(lin + rowBytes * <usize>(r + 4), columns, top) << 4
    const nearClip = clippedRows != 0
    clippedRows >>= 1
    const redRow = ((yFrom + r) & 1) == redPhase >> 1
    const parity = redRow ? redPhase & 1 : 1 - (redPhase & 1)
    const chroma = parity ? i32x4(0, -1, 0, -1) : i32x4(-1, 0, -1, 0)
    const to = rowBytes * <usize>r + (PAD << 2)
    // The planes of the rows like this one, then those of the others.
    const alike = out + to + (redRow ? 0 : 2 * <usize>planeBytes)
    const unlike = out + to + (redRow ? 2 * <usize>planeBytes : 0)
    const pb = <usize>planeBytes
    const c0 = lin + rowBytes * <usize>(r + 2) + (PAD << 2)
    if (!nearClip) {
      const skip = <usize>parity << 2
      clearRow(c0 - skip, rowBytes, (<usize>columns << 2) + skip, s, o, alike - skip, unlike - skip, pb)
      continue
    }
    for (let x: usize = 0; x < <usize>columns << 2; x += 16) {
      const c = c0 + x
      const here = v128.load(c)
      const w = v128.load(c - 4)
      const e = v128.load(c + 4)
      const n = v128.load(c - rowBytes)
      const u = v128.load(c + rowBytes)
      const ww = v128.load(c - 8)
      const ee = v128.load(c + 8)
      const nn = v128.load(c - 2 * rowBytes)
      const uu = v128.load(c + 2 * rowBytes)
      const nw = v128.load(c - rowBytes - 4)
      const ne = v128.load(c - rowBytes + 4)
      const uw = v128.load(c + rowBytes - 4)
      const ue = v128.load(c + rowBytes + 4)
      const e1 = f32x4.add(w, e)
      const v1 = f32x4.add(n, u)
      const e2 = f32x4.add(ww, ee)
      const v2 = f32x4.add(nn, uu)
      const d = f32x4.add(f32x4.add(nw, ne), f32x4.add(uw, ue))
      const sum2 = f32x4.add(e2, v2)
      const base = f32x4.sub(f32x4.mul(five, here), d)
      // Two results a lane: at chroma sites green and the opposite colour, at green sites the row's colour and the opposite.
      // The opposite colour is wanted everywhere, so its parts are chosen first and it is worked out once.
      const otherMean = v128.bitselect(f32x4.mul(d, quarter), f32x4.mul(v1, half), chroma)
      const otherCorrection = v128.bitselect(f32x4.sub(f32x4.mul(six, here), f32x4.mul(oneHalf, sum2)), f32x4.add(base, f32x4.sub(f32x4.mul(half, e2), v2)), chroma)
      const firstMean = v128.bitselect(f32x4.mul(f32x4.add(e1, v1), quarter), f32x4.mul(e1, half), chroma)
      const firstCorrection = v128.bitselect(f32x4.sub(f32x4.mul(four, here), sum2), f32x4.add(base, f32x4.sub(f32x4.mul(half, v2), e2)), chroma)
      const firstNoise = f32x4.add(f32x4.mul(s, f32x4.pmax(f32x4.splat(0), firstMean)), o)
      const otherNoise = f32x4.add(f32x4.mul(s, f32x4.pmax(f32x4.splat(0), otherMean)), o)
      const local = v128.bitselect(f32x4.mul(f32x4.add(here, sum2), fifth), f32x4.add(f32x4.mul(here, sixth), f32x4.mul(d, fiveOf24)), chroma)
      const local2 = f32x4.mul(local, local)
      const firstG2 = f32x4.pmax(firstNoise, v128.and(local2, f32x4.gt(local, zero)))
      const otherG2 = f32x4.pmax(otherNoise, v128.and(local2, f32x4.gt(local, zero)))
      const firstK = f32x4.mul(f32x4.pmax(zero, firstMean), f32x4.mul(firstCorrection, eighth))
      const otherK = f32x4.mul(f32x4.pmax(zero, otherMean), f32x4.mul(otherCorrection, eighth))
      const firstK2 = standingOut(firstK, firstNoise, firstG2)
      const otherK2 = standingOut(otherK, otherNoise, otherG2)
      let first = firstMean
      let opposite = otherMean
      // In the dark and in even light nothing stands out, and the divisions are spared.
      if (v128.any_true(f32x4.gt(f32x4.pmax(firstK2, otherK2), zero))) {
        first = shrunk(firstMean, firstK, firstK2, firstNoise, firstG2)
        opposite = shrunk(otherMean, otherK, otherK2, otherNoise, otherG2)
      }
      {
        const e1Top = f32x4.pmax(w, e)
        const v1Top = f32x4.pmax(n, u)
        const dTop = f32x4.pmax(f32x4.pmax(nw, ne), f32x4.pmax(uw, ue))
        const farTop = f32x4.pmax(here, f32x4.pmax(f32x4.pmax(ww, ee), f32x4.pmax(nn, uu)))
        const greenTop = f32x4.pmax(farTop, dTop)
        const others = v128.bitselect(farTop, greenTop, chroma)
        const firstOwn = v128.bitselect(f32x4.pmax(e1Top, v1Top), e1Top, chroma)
        const otherOwn = v128.bitselect(dTop, v1Top, chroma)
        const blocked = f32x4.ge(others, top)
        if (!mark) {
          // Nobody knows better than this frame: the mean of what it has, clipped or not.
          first = v128.bitselect(firstMean, first, v128.or(blocked, f32x4.ge(firstOwn, top)))
          opposite = v128.bitselect(otherMean, opposite, v128.or(blocked, f32x4.ge(otherOwn, top)))
        } else {
          const aw = v128.load(c - 2 * rowBytes - 4)
          const ae = v128.load(c - 2 * rowBytes + 4)
          const bw = v128.load(c + 2 * rowBytes - 4)
          const be = v128.load(c + 2 * rowBytes + 4)
          const nww = v128.load(c - rowBytes - 8)
          const nee = v128.load(c - rowBytes + 8)
          const uww = v128.load(c + rowBytes - 8)
          const uee = v128.load(c + rowBytes + 8)
          const acrossHigh = f32x4.pmax(e1Top, max4(aw, ae, bw, be))
          const acrossLow = f32x4.pmin(f32x4.pmin(w, e), min4(aw, ae, bw, be))
          const downHigh = f32x4.pmax(v1Top, max4(nww, nee, uww, uee))
          const downLow = f32x4.pmin(f32x4.pmin(n, u), min4(nww, nee, uww, uee))
          const firstHigh = v128.bitselect(f32x4.pmax(acrossHigh, downHigh), acrossHigh, chroma)
          const firstLow = v128.bitselect(f32x4.pmin(acrossLow, downLow), acrossLow, chroma)
          first = v128.bitselect(uncorrected(firstMean, firstHigh, firstLow, firstNoise, top), first, blocked)
          const otherHigh = v128.bitselect(dTop, downHigh, chroma)
          const otherLow = v128.bitselect(min4(nw, ne, uw, ue), downLow, chroma)
          opposite = v128.bitselect(uncorrected(otherMean, otherHigh, otherLow, otherNoise, top), opposite, blocked)
          first = v128.bitselect(firstOwn, first, f32x4.ge(firstOwn, top))
          opposite = v128.bitselect(otherOwn, opposite, f32x4.ge(otherOwn, top))
        }
      }
      // In rows like this one the straight plane is the samples themselves, and the crossed one all that was worked out first.
      v128.store(alike + x, here)
      v128.store(alike + pb + x, first)
      v128.store(unlike + x, v128.bitselect(first, opposite, chroma))
      v128.store(unlike + pb + x, v128.bitselect(opposite, here, chroma))
    }
  }
}
