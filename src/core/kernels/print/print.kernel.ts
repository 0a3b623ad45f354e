// Radiance to print, four pixels at a time. The definition, the formulas and their sources are in print.ts.
// Same arithmetic in 32-bit floats; logarithm and cube root by the short forms named below. Codes: code.kernel.ts.

import { lanes, muladd, ROUNDING, sum4 } from '../lanes.kernel'

// Byte offsets in the constants block: printConstant in print.ts, times four.
const TONE_START: usize = 0
const TONE_PER_STOP: usize = 4
const TONE_LAST: usize = 8
const FLOOR: usize = 12
const NOISE_SCALE: usize = 16
const NOISE_OFFSET: usize = 20
const QUIET_ABOVE: usize = 24
const WHITE_LEVEL: usize = 28
const WHITE_LIGHTNESS: usize = 32
const WHITE_MOST: usize = 36

// log2 of positive normal numbers: exponent plus m + m (1 − m) q(m) for the mantissa 1 + m, q the cubic with the least
// largest error, 1.6e-5 stop.
// @ts-ignore: decorator
@inline
function log2x4(x: v128): v128 {
  const one = lanes(1)
  const e = f32x4.convert_i32x4_s(i32x4.sub(i32x4.shr_u(x, 23), i32x4.splat(127)))
  const m = f32x4.sub(v128.or(v128.and(x, i32x4.splat(0x7fffff)), one), one)
  let q = muladd(lanes(<f32>-0.045149026), m, lanes(<f32>0.148426613))
  q = muladd(q, m, lanes(<f32>-0.267179386))
  q = muladd(q, m, lanes(<f32>0.441917036))
  return f32x4.add(e, muladd(f32x4.mul(m, f32x4.sub(one, m)), q, m))
}

// Cube root of numbers ≥ 0: exponent thirded on the bit pattern, then two of Halley's steps; error about 1 ulp.
// @ts-ignore: decorator
@inline
function cbrtx4(x: v128): v128 {
  const third = f32x4.mul(f32x4.convert_i32x4_s(x), lanes(<f32>0.33333334))
  let y = i32x4.add(i32x4.trunc_sat_f32x4_s(third), i32x4.splat(0x2a514067))
  for (let i = 0; i < 2; i++) {
    const cube = f32x4.mul(f32x4.mul(y, y), y)
    y = f32x4.mul(y, f32x4.div(f32x4.add(cube, f32x4.add(x, x)), f32x4.add(f32x4.add(cube, cube), x)))
  }
  return y
}

// All bits set in lanes that stand outside 0..1 by more than the tolerance.
// @ts-ignore: decorator
@inline
function outside(r: v128, g: v128, b: v128): v128 {
  const low = f32x4.pmin(f32x4.pmin(r, g), b)
  const high = f32x4.pmax(f32x4.pmax(r, g), b)
  return v128.or(f32x4.lt(low, lanes(<f32>-2e-4)), f32x4.gt(high, lanes(<f32>1.0002)))
}

// @ts-ignore: decorator
@inline
function cube(x: v128): v128 {
  return f32x4.mul(f32x4.mul(x, x), x)
}

// @ts-ignore: decorator
@inline
function dot3(l: v128, m: v128, s: v128, a: f32, b: f32, c: f32): v128 {
  return muladd(l, lanes(a), muladd(m, lanes(b), f32x4.mul(s, lanes(c))))
}

// Σ c³ and Σ c² over positive parts; the power norm is their quotient.
// @ts-ignore: decorator
@inline
function sumOfCubes(x: v128, y: v128, z: v128): v128 {
  return f32x4.add(f32x4.add(cube(x), cube(y)), cube(z))
}

// @ts-ignore: decorator
@inline
function sumOfSquares(x: v128, y: v128, z: v128): v128 {
  return f32x4.add(f32x4.add(f32x4.mul(x, x), f32x4.mul(y, y)), f32x4.add(f32x4.mul(z, z), lanes(<f32>1e-37)))
}

// Rare path: lamps near white and colours that the display lacks. Results go to the three rows.
function mapped(r: v128, g: v128, b: v128, level: v128, constants: usize, outR: usize, outG: usize, outB: usize): void {
  const zero = lanes(0)
  const l = cbrtx4(f32x4.pmax(zero, dot3(r, g, b, <f32>0.4122214708, <f32>0.5363325363, <f32>0.0514459929)))
  const m = cbrtx4(f32x4.pmax(zero, dot3(r, g, b, <f32>0.2119034982, <f32>0.6806995451, <f32>0.1073969566)))
  const s = cbrtx4(f32x4.pmax(zero, dot3(r, g, b, <f32>0.0883024619, <f32>0.2817188376, <f32>0.6299787005)))
  let light = dot3(l, m, s, <f32>0.2104542553, <f32>0.793617785, <f32>-0.0040720468)
  const neutral = cbrtx4(level)
  const from = v128.load32_splat(constants, WHITE_LIGHTNESS)
  const part = f32x4.div(f32x4.sub(neutral, from), f32x4.sub(lanes(1), from))
  const t = f32x4.pmin(lanes(1), f32x4.pmax(zero, part))
  const smooth = f32x4.mul(f32x4.mul(t, t), f32x4.sub(lanes(3), f32x4.add(t, t)))
  const whitening = f32x4.mul(smooth, v128.load32_splat(constants, WHITE_MOST))
  const rest = f32x4.sub(lanes(1), whitening)
  const a = f32x4.mul(dot3(l, m, s, <f32>1.9779984951, <f32>-2.428592205, <f32>0.4505937099), rest)
  const c = f32x4.mul(dot3(l, m, s, <f32>0.0259040371, <f32>0.7827717662, <f32>-0.808675766), rest)
  light = muladd(whitening, f32x4.sub(neutral, light), light)
  // Cones = light + chroma · k.
  const kl = muladd(a, lanes(<f32>0.3963377774), f32x4.mul(c, lanes(<f32>0.2158037573)))
  const km = muladd(a, lanes(<f32>-0.1055613458), f32x4.mul(c, lanes(<f32>-0.0638541728)))
  const ks = muladd(a, lanes(<f32>-0.0894841775), f32x4.mul(c, lanes(<f32>-1.291485548)))
  let chroma = lanes(1)
  let low = zero
  let width: f32 = 1
  let beyond = i32x4.splat(0)
  let nr = r
  let ng = g
  let nb = b
  // Round 0 looks at the whole chroma, rounds 1..10 halve the interval for the lanes that need it, 11 evaluates.
  for (let i = 0; i < 12; i++) {
    const cl = cube(muladd(chroma, kl, light))
    const cm = cube(muladd(chroma, km, light))
    const cs = cube(muladd(chroma, ks, light))
    nr = dot3(cl, cm, cs, <f32>4.0767416621, <f32>-3.3077115913, <f32>0.2309699292)
    ng = dot3(cl, cm, cs, <f32>-1.2684380046, <f32>2.6097574011, <f32>-0.3413193965)
    nb = dot3(cl, cm, cs, <f32>-0.0041960863, <f32>-0.7034186147, <f32>1.707614701)
    const out = outside(nr, ng, nb)
    if (i == 0) {
      beyond = out
      if (!v128.any_true(out)) break
    } else {
      low = v128.bitselect(low, chroma, out)
    }
    width *= <f32>0.5
    const next = i < 10 ? f32x4.add(low, lanes(width)) : low
    chroma = v128.bitselect(next, lanes(1), beyond)
  }
  v128.store(outR, nr)
  v128.store(outG, ng)
  v128.store(outB, nb)
}

export function printTone(
  rAt: usize,
  gAt: usize,
  bAt: usize,
  width: i32,
  cells: usize,
  step: i32,
  tone: usize,
  constants: usize,
  outR: usize,
  outG: usize,
  outB: usize,
): void {
  const perStop = v128.load32_splat(constants, TONE_PER_STOP)
  // Places in the tone table less a half, so that rounding finds the entry below.
  const aHalf = lanes(<f32>0.5)
  const origin = f32x4.sub(f32x4.neg(f32x4.mul(v128.load32_splat(constants, TONE_START), perStop)), aHalf)
  const first = f32x4.neg(aHalf)
  const last = f32x4.sub(v128.load32_splat(constants, TONE_LAST), aHalf)
  const floor = v128.load32_splat(constants, FLOOR)
  const mostGain = f32x4.div(lanes(1), floor)
  const quiet = v128.load32_splat(constants, QUIET_ABOVE)
  const whiteLevel = v128.load32_splat(constants, WHITE_LEVEL)
  const zero = lanes(0)
  const perPixel = lanes(<f32>1 / <f32>step)
  const half = step >> 1
  const intervals = (width - 1 + half) / step + 1
  // Between two neighbouring cell centres everything of the cells is a straight line.
  for (let i = 0; i < intervals; i++) {
    const from = i * step - half
    const end = min(from + step, width)
    const c0 = v128.load(cells + (<usize>i << 4))
    const dc = f32x4.sub(v128.load(cells + (<usize>i << 4), 16), c0)
    const a0 = v128.shuffle<i32>(c0, c0, 0, 0, 0, 0)
    const b0 = v128.shuffle<i32>(c0, c0, 1, 1, 1, 1)
    const da = v128.shuffle<i32>(dc, dc, 0, 0, 0, 0)
    const db = v128.shuffle<i32>(dc, dc, 1, 1, 1, 1)
    for (let x = max(from, 0); x < end; x += 4) {
      const at = <usize>x << 2
      const share = f32x4.mul(f32x4.add(lanes(<f32>(x - from)), f32x4(0.5, 1.5, 2.5, 3.5)), perPixel)
      let r = v128.load(rAt + at)
      let g = v128.load(gAt + at)
      let b = v128.load(bAt + at)
      const luminance = dot3(r, g, b, <f32>0.2126, <f32>0.7152, <f32>0.0722)
      if (v128.any_true(f32x4.lt(luminance, quiet))) {
        const y = f32x4.pmax(zero, luminance)
        const square = f32x4.mul(y, y)
        const noise = muladd(
          v128.load32_splat(constants, NOISE_SCALE),
          y,
          v128.load32_splat(constants, NOISE_OFFSET),
        )
        const own = f32x4.div(
          f32x4.mul(square, lanes(<f32>1.02)),
          f32x4.add(f32x4.add(square, noise), lanes(<f32>1e-30)),
        )
        const trust = f32x4.pmin(lanes(1), own)
        const rho = v128.shuffle<i32>(c0, c0, 2, 2, 2, 2)
        const rhoR = muladd(share, v128.shuffle<i32>(dc, dc, 2, 2, 2, 2), rho)
        const rhoB = muladd(share, v128.shuffle<i32>(dc, dc, 3, 3, 3, 3), v128.shuffle<i32>(c0, c0, 3, 3, 3, 3))
        const rhoG = f32x4.mul(
          f32x4.sub(lanes(1), muladd(rhoR, lanes(<f32>0.2126), f32x4.mul(rhoB, lanes(<f32>0.0722)))),
          lanes(<f32>1.3982102908277405),
        )
        const yr = f32x4.mul(rhoR, y)
        const yg = f32x4.mul(rhoG, y)
        const yb = f32x4.mul(rhoB, y)
        r = muladd(trust, f32x4.sub(r, yr), yr)
        g = muladd(trust, f32x4.sub(g, yg), yg)
        b = muladd(trust, f32x4.sub(b, yb), yb)
      }
      const positiveR = f32x4.pmax(zero, r)
      const positiveG = f32x4.pmax(zero, g)
      const positiveB = f32x4.pmax(zero, b)
      const cubes = sumOfCubes(positiveR, positiveG, positiveB)
      const squares = sumOfSquares(positiveR, positiveG, positiveB)
      const norm = f32x4.pmax(floor, f32x4.div(cubes, squares))
      // A second division, but one that need not wait for the tone.
      const overNorm = f32x4.pmin(mostGain, f32x4.div(squares, cubes))
      const stops = muladd(muladd(share, da, a0), log2x4(norm), muladd(share, db, b0))
      const place = f32x4.pmin(last, f32x4.pmax(first, muladd(stops, perStop, origin)))
      const rounded = f32x4.add(place, lanes(ROUNDING))
      const entry = v128.and(rounded, i32x4.splat(0xffff))
      const part = f32x4.sub(place, f32x4.sub(f32x4.sub(rounded, lanes(ROUNDING)), aHalf))
      let e01 = v128.load64_zero(tone + (<usize>i32x4.extract_lane(entry, 0) << 2))
      e01 = v128.load64_lane(tone + (<usize>i32x4.extract_lane(entry, 1) << 2), e01, 1)
      let e23 = v128.load64_zero(tone + (<usize>i32x4.extract_lane(entry, 2) << 2))
      e23 = v128.load64_lane(tone + (<usize>i32x4.extract_lane(entry, 3) << 2), e23, 1)
      const v0 = v128.shuffle<i32>(e01, e23, 0, 2, 4, 6)
      const v1 = v128.shuffle<i32>(e01, e23, 1, 3, 5, 7)
      const shown = muladd(part, f32x4.sub(v1, v0), v0)
      const scale = f32x4.mul(shown, overNorm)
      r = f32x4.mul(r, scale)
      g = f32x4.mul(g, scale)
      b = f32x4.mul(b, scale)
      if (v128.any_true(v128.or(f32x4.gt(shown, whiteLevel), outside(r, g, b)))) {
        mapped(r, g, b, shown, constants, outR + at, outG + at, outB + at)
      } else {
        v128.store(outR + at, r)
        v128.store(outG + at, g)
        v128.store(outB + at, b)
      }
    }
  }
}

export function printBlend(a: usize, b: usize, t: f32, out: usize, vectors: i32): void {
  const share = lanes(t)
  for (let i = 0; i < vectors; i++) {
    const va = v128.load(a)
    v128.store(out, muladd(share, f32x4.sub(v128.load(b), va), va))
    a += 16
    b += 16
    out += 16
  }
}

export function printCells(
  rAt: usize,
  gAt: usize,
  bAt: usize,
  width: i32,
  rows: i32,
  stride: i32,
  step: i32,
  out: usize,
): void {
  for (let x0 = 0; x0 < width; x0 += step) {
    const columns = min(step, width - x0)
    let sr = lanes(0)
    let sg = lanes(0)
    let sb = lanes(0)
    let suv = lanes(0)
    let peak = lanes(0)
    for (let y = 0; y < rows; y++) {
      let at = (<usize>y * <usize>stride + <usize>x0) << 2
      for (let x = 0; x < columns; x += 4) {
        let r = v128.load(rAt + at)
        let g = v128.load(gAt + at)
        let b = v128.load(bAt + at)
        if (columns - x < 4) {
          const inside = i32x4.lt_s(i32x4(0, 1, 2, 3), i32x4.splat(columns - x))
          r = v128.and(r, inside)
          g = v128.and(g, inside)
          b = v128.and(b, inside)
        }
        const u = f32x4.sub(r, g)
        const v = f32x4.sub(b, g)
        sr = f32x4.add(sr, r)
        sg = f32x4.add(sg, g)
        sb = f32x4.add(sb, b)
        suv = f32x4.add(suv, muladd(u, u, f32x4.mul(v, v)))
        peak = f32x4.pmax(peak, f32x4.pmax(f32x4.pmax(r, g), b))
        at += 16
      }
    }
    const n: f32 = <f32>1 / <f32>(columns * rows)
    const r = sum4(sr) * n
    const g = sum4(sg) * n
    const b = sum4(sb) * n
    const high = max(
      max(f32x4.extract_lane(peak, 0), f32x4.extract_lane(peak, 1)),
      max(f32x4.extract_lane(peak, 2), f32x4.extract_lane(peak, 3)),
    )
    store<f32>(out, r)
    store<f32>(out, g, 4)
    store<f32>(out, b, 8)
    store<f32>(out, max(<f32>0, sum4(suv) * n - (r - g) * (r - g) - (b - g) * (b - g)), 12)
    store<f32>(out, high, 16)
    store<f32>(out, 0, 20)
    store<f32>(out, 0, 24)
    store<f32>(out, 0, 28)
    out += 32
  }
}

export function printMoments(
  rAt: usize,
  gAt: usize,
  bAt: usize,
  width: i32,
  rows: i32,
  stride: i32,
  step: i32,
  floor: f32,
  out: usize,
): void {
  const zero = lanes(0)
  const lowest = lanes(floor)
  const origin = log2x4(lowest)
  for (let x0 = 0; x0 < width; x0 += step) {
    const columns = min(step, width - x0)
    let sum = lanes(0)
    let squares = lanes(0)
    for (let y = 0; y < rows; y += 2) {
      let at = (<usize>y * <usize>stride + <usize>x0) << 2
      for (let x = 0; x < columns; x += 4) {
        const r = f32x4.pmax(zero, v128.load(rAt + at))
        const g = f32x4.pmax(zero, v128.load(gAt + at))
        const b = f32x4.pmax(zero, v128.load(bAt + at))
        const norm = f32x4.pmax(lowest, f32x4.div(sumOfCubes(r, g, b), sumOfSquares(r, g, b)))
        let stops = f32x4.sub(log2x4(norm), origin)
        if (columns - x < 4) stops = v128.and(stops, i32x4.lt_s(i32x4(0, 1, 2, 3), i32x4.splat(columns - x)))
        sum = f32x4.add(sum, stops)
        squares = muladd(stops, stops, squares)
        at += 16
      }
    }
    const n: f32 = <f32>1 / <f32>(columns * ((rows + 1) >> 1))
    store<f32>(out, sum4(sum) * n)
    store<f32>(out, sum4(squares) * n, 4)
    out += 8
  }
}
