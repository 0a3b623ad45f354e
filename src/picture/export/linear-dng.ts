import { ditherPhase } from '#core/kernels'

/** Scene-linear light as 16-bit values of a DNG. */
export interface LinearSamples {
  readonly samples: Uint16Array
  readonly black: number
  readonly white: number
  /** log2 of the light that `white` stands for. */
  readonly whiteStops: number
  /** Share of the samples that are brighter than that, or darker than black can hold. */
  readonly clippedShare: number
}

/** Room under black for noise and for colours outside the primaries. */
const BLACK = 1024
const WHITE = 65_535
/** Light is counted in quarters of a stop, from 2^-16 to 2^16. */
const BINS_A_STOP = 4
const MOST_STOPS = 16
/** This share of the samples, the cores of lamps, does not decide where white lies if it stands far above all others. */
const STRAY_SHARE = 1e-4
/** Stops above the others that are left to those. */
const STRAY_STOPS = 1

/**
 * log2 of the light that white stands for: the brightest of all, or a stop above all but a ten-thousandth of the samples.
 * Readers take the brightest sample for white, so white is always reached.
 */
function whiteOf(planes: readonly Float32Array[]): number {
  const bins = new Uint32Array(2 * MOST_STOPS * BINS_A_STOP)
  let count = 0
  let most = 2 ** -MOST_STOPS
  for (const plane of planes) {
    count += plane.length
    for (const v of plane) {
      if (v > most) most = v
      if (v > 2 ** -MOST_STOPS)
        bins[Math.min(bins.length - 1, Math.floor((Math.log2(v) + MOST_STOPS) * BINS_A_STOP))]!++
    }
  }
  let bin = bins.length - 1
  for (let n = bins[bin]!; bin > 0 && n <= STRAY_SHARE * count; n += bins[bin]!) bin--
  return Math.min(Math.log2(most), (bin + 1) / BINS_A_STOP - MOST_STOPS + STRAY_STOPS)
}

/**
 * Three planes as interleaved 16-bit values, rounded with a position-only dither, so that what is darker than one step
 * keeps its mean. DNG's BaselineExposure brings the picture back to its own brightness.
 */
export function linearSamples(
  planes: readonly [Float32Array, Float32Array, Float32Array],
  width: number,
): LinearSamples {
  const whiteStops = whiteOf(planes)
  const scale = (WHITE - BLACK) / 2 ** whiteStops
  const count = planes[0].length
  const samples = new Uint16Array(count * 3)
  let clipped = 0
  planes.forEach((plane, c) => {
    for (let i = 0; i < count; i++) {
      const exact = BLACK + plane[i]! * scale
      if (exact < 0 || exact > WHITE) clipped++
      const value = Math.floor(exact + ditherPhase(i % width, Math.floor(i / width), c))
      samples[i * 3 + c] = Math.min(Math.max(value, 0), WHITE)
    }
  })
  return { samples, black: BLACK, white: WHITE, whiteStops, clippedShare: clipped / samples.length }
}
