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
/** This share of samples may lie above white: a few lamps' cores for a stop of shadow. */
const MOST_ABOVE = 1e-4
const STOPS = 24

/** The fewest whole stops that hold all but a ten-thousandth of the samples; never under −8 or over 16. */
function stopsFor(planes: readonly Float32Array[]): number {
  const above = new Uint32Array(STOPS + 1)
  let count = 0
  for (const plane of planes) {
    count += plane.length
    for (const v of plane) if (v > 2 ** -8) above[Math.min(STOPS, Math.ceil(Math.log2(v)) + 8)]!++
  }
  let stops = STOPS
  for (let over = above[stops]!; stops > 0 && over <= MOST_ABOVE * count; over += above[stops]!) stops--
  return stops - 8
}

/**
 * Three planes as interleaved 16-bit values, rounded with a position-only dither, so that what is darker than one step
 * keeps its mean. White is a power of two: DNG's BaselineExposure brings the picture back to its own brightness.
 */
export function linearSamples(
  planes: readonly [Float32Array, Float32Array, Float32Array],
  width: number,
): LinearSamples {
  const whiteStops = stopsFor(planes)
  const scale = (WHITE - BLACK) / 2 ** whiteStops
  const count = planes[0].length
  const samples = new Uint16Array(count * 3)
  let clipped = 0
  planes.forEach((plane, c) => {
    for (let i = 0; i < count; i++) {
      const value = Math.floor(BLACK + plane[i]! * scale + ditherPhase(i % width, Math.floor(i / width), c))
      if (value < 0 || value > WHITE) clipped++
      samples[i * 3 + c] = Math.min(Math.max(value, 0), WHITE)
    }
  })
  return { samples, black: BLACK, white: WHITE, whiteStops, clippedShare: clipped / samples.length }
}
