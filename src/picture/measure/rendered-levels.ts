import type { Orientation } from '#core/pixels'
import type { FrameLevels } from './frame-levels.ts'
import { perColour } from './level-frame.ts'
import { STOPS, type StopShares } from './scene-stops.ts'
import { tiltOf } from './tilt.ts'

/** A camera's finished picture: interleaved 8-bit red, green, blue. */
export interface RenderedPicture {
  readonly codes: Uint8Array
  readonly width: number
  readonly height: number
  readonly orientation: Orientation
  readonly gimbalRoll: number | null
}

/** JPEG compression leaves clipped areas a code or two below 255. */
const CLIPPED = 254
/** One code's step is a third of the light or more: what 8 bits can no longer tell. */
const BURIED = 3
/** Every so many pixels are counted. */
const MOST_COUNTED = 2_000_000
/** Gradient of an edge (see `followUprights`): a step of about five codes. */
const EDGE = 60

/** IEC 61966-2-1: a code's share of the light of white. A camera's own curve is steeper, so stops of it are not scene stops. */
const light = Float64Array.from({ length: 256 }, (_, code) => {
  const v = code / 255
  return v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4
})

/**
 * What can be said of the levels of a rendered picture: shares of clipped codes, levels in stops as sRGB has them, shares
 * of codes too dark to tell, tilt. Noise, black and row banding are the camera's work by then and stay null. Marked `rendered`: the
 * camera's curve and its noise reduction lie between these numbers and the scene.
 */
export function renderedLevels(picture: RenderedPicture): FrameLevels {
  const { codes, width, height, orientation, gimbalRoll } = picture
  const counts = [0, 1, 2].map(() => new Uint32Array(256))
  const step = Math.max(1, Math.floor((width * height) / MOST_COUNTED))
  const luma = new Float64Array(STOPS)
  let total = 0
  for (let i = 0; i < width * height; i += step) {
    const [r, g, b] = [codes[3 * i] ?? 0, codes[3 * i + 1] ?? 0, codes[3 * i + 2] ?? 0]
    counts[0]![r]! += 1
    counts[1]![g]! += 1
    counts[2]![b]! += 1
    // The same mean of a red, two greens and a blue as in a mosaic.
    if (Math.max(r, g, b) < CLIPPED) luma[stopOf((light[r]! + 2 * light[g]! + light[b]!) / 4)]! += 1
    total++
  }
  const share = (n: number) => (total > 0 ? n / total : 0)
  const sum = (c: number, from: number, to: number) => counts[c]!.subarray(from, to).reduce((a, n) => a + n, 0)
  const stops = (c: number): StopShares => {
    const out = new Float64Array(STOPS)
    for (let code = 0; code < CLIPPED; code++) out[stopOf(light[code]!)]! += counts[c]![code]!
    return Array.from(out, share)
  }
  return {
    basis: 'rendered',
    width,
    height,
    clipped: perColour((c) => share(sum(c, CLIPPED, 256))),
    clipsEarly: false,
    stops: { r: stops(0), g: stops(1), b: stops(2), luma: Array.from(luma, share) },
    buried: [share(sum(1, 0, BURIED + 1))],
    ...{ noise: null, blackAtMostCodes: null, banding: null },
    tilt: tiltOf(quarterOf(picture), EDGE, orientation, gimbalRoll),
  }
}

const stopOf = (v: number) => (v > 0 ? Math.min(STOPS - 1, Math.floor(-Math.log2(v))) : STOPS - 1)

/** Green at quarter size, means of 4 × 4. */
function quarterOf({ codes, width, height }: RenderedPicture) {
  const [w, h] = [width >> 2, height >> 2]
  if (w < 16 || h < 16 || codes.length < 3 * width * height) return null
  const pixels = new Float32Array(w * h)
  for (let y = 0; y < h; y++)
    for (let x = 0; x < w; x++) {
      let sum = 0
      for (let j = 0; j < 4; j++) {
        const at = 3 * ((4 * y + j) * width + 4 * x) + 1
        sum += codes[at]! + codes[at + 3]! + codes[at + 6]! + codes[at + 9]!
      }
      pixels[y * w + x] = sum / 16
    }
  return { pixels, width: w, height: h, across: 1, down: w }
}
