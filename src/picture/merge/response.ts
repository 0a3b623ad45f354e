import { decodeSrgb } from '#core/colour'

/** Codes of one place of the scene in every frame, and the frames' exposures in stops. */
export interface ResponseSamples {
  /** [place][frame] → code 0..255. */
  readonly codes: readonly (readonly number[])[]
  readonly stops: readonly number[]
}

const CODES = 256
/** Strength of smoothness against one sample; the curve of 8-bit pictures is smooth, its samples are not. */
const SMOOTHNESS = 100
/** A weak pull toward the standard curve where no sample says anything. */
const PULL = 0.02

/**
 * From this code on a sample counts as saturated. Clipped areas of real pictures hold codes from 250 up, not 255 alone
 * (seen over four pairs of frames two stops apart: at 246 the darker frames agree to 0.3 stop, at 252 they spread over two).
 */
export const SATURATED_CODE = 249
/** The last code that the response is solved for; from here on two saturating colours take the third with them. */
export const LAST_TRUSTED_CODE = 243

/** Debevec, Malik 1997, equation 4: a hat that trusts the middle and not the ends; its upper end is where samples saturate. */
const hat = (code: number) => Math.max(0, Math.min(code, SATURATED_CODE - code))

/**
 * The camera's response from a bracket of finished pictures: g(code) = ln exposure, after Debevec, Malik 1997
 * ("Recovering high dynamic range radiance maps from photographs"), with the scene's exposures eliminated from the
 * normal equations. Smoothness and the weak prior act on the departure from sRGB's curve (IEC 61966-2-1), so that codes
 * without samples follow that. Returns exposure per code, 256 values, increasing, 1 at SATURATED_CODE.
 *
 * Cameras change such pictures with the scene (local contrast, noise reduction): what comes out is an average curve and
 * is labelled as such.
 */
export function solveResponse(samples: ResponseSamples): Float64Array {
  const prior = Float64Array.from({ length: CODES }, (_, z) => Math.log(decodeSrgb(Math.max(z, 0.5) / 255)))
  const a = new Float64Array(CODES * CODES)
  const b = new Float64Array(CODES)
  for (const place of samples.codes) {
    let total = 0
    let mean = 0
    place.forEach((z, k) => {
      const w = hat(z)
      total += w
      mean += w * samples.stops[k]! * Math.LN2
    })
    if (total === 0) continue
    mean /= total
    // Each sample says g(z) − ln E = ln t; with ln E at its optimum the place leaves w·(g − ⟨g⟩) = w·(ln t − ⟨ln t⟩).
    place.forEach((z, k) => {
      const w = hat(z)
      if (w === 0) return
      a[z * CODES + z]! += w
      b[z]! += w * (samples.stops[k]! * Math.LN2 - mean)
      for (const other of place) a[z * CODES + other]! -= (w * hat(other)) / total
    })
  }
  const weight = Math.max(1, samples.codes.length * samples.stops.length) * (SMOOTHNESS / CODES)
  for (let z = 1; z < CODES - 1; z++) {
    const terms = [
      [z - 1, 1],
      [z, -2],
      [z + 1, 1],
    ] as const
    const bend = prior[z - 1]! - 2 * prior[z]! + prior[z + 1]!
    // Near black the standard curve bends hard in the logarithm; smoothness counts less there.
    const s = weight * Math.min(1, z / 32) ** 2
    for (const [i, u] of terms) {
      b[i]! += s * u * bend
      for (const [j, v] of terms) a[i * CODES + j]! += s * u * v
    }
  }
  for (let z = 0; z < CODES; z++) {
    a[z * CODES + z]! += PULL * weight * 1e-2 + 1e-6
    b[z]! += (PULL * weight * 1e-2 + 1e-6) * prior[z]!
  }
  const g = solvePositive(a, b)
  // The hat gives the last codes hardly any weight: they go on in the direction of those before.
  const slope = (g[LAST_TRUSTED_CODE]! - g[LAST_TRUSTED_CODE - 30]!) / 30
  for (let z = LAST_TRUSTED_CODE + 1; z < CODES; z++) g[z] = g[LAST_TRUSTED_CODE]! + slope * (z - LAST_TRUSTED_CODE)
  const curve = Float64Array.from(g, (v) => Math.exp(v - g[SATURATED_CODE]!))
  // Increasing, whatever noise said.
  for (let z = CODES - 2; z >= 0; z--) curve[z] = Math.min(curve[z]!, curve[z + 1]! * (1 - 1e-6))
  return curve
}

/** Cholesky for a symmetric positive definite system of CODES unknowns; `a` is overwritten. */
function solvePositive(a: Float64Array, b: Float64Array): Float64Array {
  const n = b.length
  for (let i = 0; i < n; i++) {
    for (let j = 0; j <= i; j++) {
      let sum = a[i * n + j]!
      for (let k = 0; k < j; k++) sum -= a[i * n + k]! * a[j * n + k]!
      a[i * n + j] = i === j ? Math.sqrt(Math.max(sum, 1e-12)) : sum / a[j * n + j]!
    }
  }
  const x = Float64Array.from(b)
  for (let i = 0; i < n; i++) {
    for (let k = 0; k < i; k++) x[i]! -= a[i * n + k]! * x[k]!
    x[i]! /= a[i * n + i]!
  }
  for (let i = n - 1; i >= 0; i--) {
    for (let k = i + 1; k < n; k++) x[i]! -= a[k * n + i]! * x[k]!
    x[i]! /= a[i * n + i]!
  }
  return x
}

/**
 * Codes at places of the scene, for each of the three colours: a grid, of which those even in every frame are taken,
 * brightest and darkest included. Where one colour saturates, all three count as saturated: they no longer vary freely.
 */
export function sampleCodes(pictures: readonly Uint8Array[], width: number, height: number): number[][] {
  const codes: number[][] = []
  const columns = 48
  const rows = 36
  for (let j = 0; j < rows; j++) {
    for (let i = 0; i < columns; i++) {
      const x0 = Math.floor(((i + 0.5) * width) / columns)
      const y0 = Math.floor(((j + 0.5) * height) / rows)
      if (x0 + BLOCK > width || y0 + BLOCK > height) continue
      const blocks = pictures.map((p) => [0, 1, 2].map((c) => blockOf(p, width, x0, y0, c)))
      for (let c = 0; c < 3; c++) {
        if (blocks.some((b) => b[c]!.high - b[c]!.low > UNEVEN)) continue
        codes.push(blocks.map((b) => (b.some(({ high }) => high >= SATURATED_CODE) ? CODES - 1 : b[c]!.mean)))
      }
    }
  }
  return codes
}

/** Side of a place, pixels, and the span of codes above which it is not even. */
const BLOCK = 4
const UNEVEN = 24

function blockOf(picture: Uint8Array, width: number, x0: number, y0: number, channel: number) {
  let sum = 0
  let low = 255
  let high = 0
  for (let y = y0; y < y0 + BLOCK; y++) {
    for (let x = x0; x < x0 + BLOCK; x++) {
      const v = picture[(y * width + x) * 3 + channel]!
      sum += v
      low = Math.min(low, v)
      high = Math.max(high, v)
    }
  }
  return { mean: Math.round(sum / (BLOCK * BLOCK)), low, high }
}

/** How many bits a linearised code gets: u16 with 1.0 where samples saturate. */
export const RENDERED_RANGE = 65535

/** A noise model for linearised codes: a code and a half of noise in the encoded picture, as Poisson–Gaussian terms. */
export function renderedNoise(curve: Float64Array): { scale: number; offset: number } {
  const deviation = (z: number) => 0.75 * (curve[Math.min(255, z + 1)]! - curve[Math.max(0, z - 1)]!)
  const middle = deviation(128) ** 2 / curve[128]!
  return { scale: middle, offset: Math.max(deviation(12), 2 / RENDERED_RANGE) ** 2 }
}
