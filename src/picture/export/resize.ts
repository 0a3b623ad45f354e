import { decodeSrgb, encodeSrgb } from '#core/colour'
import { ditherPhase } from '#core/kernels'
import type { PrintImage8, PrintImage16 } from './print-image.ts'

/** One output sample as a weighted sum of input samples from `first` on; the weights sum to 1. */
interface Tap {
  readonly first: number
  readonly weights: Float32Array
}

/** Mitchell, Netravali 1988, "Reconstruction filters in computer graphics", B = C = 1/3: reach 2, little overshoot. */
function mitchell(x: number): number {
  const a = Math.abs(x)
  if (a < 1) return (7 * a ** 3 - 12 * a ** 2 + 16 / 3) / 6
  return a < 2 ? ((-7 / 3) * a ** 3 + 12 * a ** 2 - 20 * a + 32 / 3) / 6 : 0
}

/** Overlap of an input pixel with the output pixel's area: no negative weights, so a lamp draws no dark ring. */
const areaOverlap = (scale: number) => (x: number) => Math.min(Math.max(0.5 + (0.5 - Math.abs(x)) * scale, 0), 1)

type Filter = 'mitchell' | 'area'

/** Taps of one axis from `from` to `to` samples, to ≤ from; pixel centres at half numbers, edges repeated by normalising. */
function taps(from: number, to: number, filter: Filter): Tap[] {
  const scale = from / to
  const weigh = filter === 'area' ? areaOverlap(scale) : mitchell
  const reach = (filter === 'area' ? 0.5 + 0.5 / scale : 2) * scale
  return Array.from({ length: to }, (_, i) => {
    const centre = (i + 0.5) * scale
    const first = Math.max(0, Math.floor(centre - reach))
    const last = Math.min(from, Math.ceil(centre + reach))
    const raw = Array.from({ length: last - first }, (_, k) => weigh((first + k + 0.5 - centre) / scale))
    const sum = raw.reduce((n, w) => n + w, 0)
    return { first, weights: Float32Array.from(raw, (w) => w / sum) }
  })
}

export interface Size {
  readonly width: number
  readonly height: number
}

/** The size with its longer side at most `longSide` pixels: never larger, sides rounded, at least 1. */
export function sizeWithin({ width, height }: Size, longSide: number | null): Size {
  const side = Math.max(width, height)
  if (longSide === null || side <= longSide) return { width, height }
  const scale = longSide / side
  return { width: Math.max(1, Math.round(width * scale)), height: Math.max(1, Math.round(height * scale)) }
}

/** Rows of linear light of `channels` interleaved samples, reduced to `to`; `row(y)` gives an input row, `put` takes an output one. */
function resizeRows(
  from: Size,
  to: Size,
  channels: number,
  filter: Filter,
  row: (y: number) => Float32Array,
  put: (y: number, row: Float32Array) => void,
): void {
  const across = taps(from.width, to.width, filter)
  const down = taps(from.height, to.height, filter)
  const length = to.width * channels
  const kept = new Map<number, Float32Array>()
  const narrowed = (y: number): Float32Array => {
    const before = kept.get(y)
    if (before) return before
    const source = row(y)
    const out = new Float32Array(length)
    for (let x = 0; x < to.width; x++) {
      const { first, weights } = across[x]!
      for (let c = 0; c < channels; c++) {
        let sum = 0
        for (let k = 0; k < weights.length; k++) sum += weights[k]! * source[(first + k) * channels + c]!
        out[x * channels + c] = sum
      }
    }
    kept.set(y, out)
    return out
  }
  const sum = new Float32Array(length)
  for (let y = 0; y < to.height; y++) {
    const { first, weights } = down[y]!
    for (const old of kept.keys()) if (old < first) kept.delete(old)
    sum.fill(0)
    for (let k = 0; k < weights.length; k++) {
      const source = narrowed(first + k)
      const weight = weights[k]!
      for (let i = 0; i < length; i++) sum[i]! += weight * source[i]!
    }
    put(y, sum)
  }
}

let light: Float32Array | null = null

/** Linear light of every 16-bit code. */
export function lightOf16(): Float32Array {
  light ??= Float32Array.from({ length: 65536 }, (_, code) => decodeSrgb(code / 65535))
  return light
}

/** The print reduced in linear light; one that is small enough comes back as it is. */
export function resizePrint<Image extends PrintImage16>(image: Image, longSide: number | null): Image {
  const to = sizeWithin(image, longSide)
  if (to.width === image.width && to.height === image.height) return image
  const table = lightOf16()
  const source = new Float32Array(image.width * 3)
  const data = new Uint16Array(to.width * to.height * 3)
  resizeRows(
    image,
    to,
    3,
    'mitchell',
    (y) => {
      const at = y * source.length
      for (let i = 0; i < source.length; i++) source[i] = table[image.data[at + i]!]!
      return source
    },
    (y, row) => {
      const at = y * row.length
      for (let i = 0; i < row.length; i++) {
        data[at + i] = Math.round(65535 * encodeSrgb(Math.min(Math.max(row[i]!, 0), 1)))
      }
    },
  )
  return { ...image, ...to, data }
}

/** A plane of scene-linear values reduced by area: the light of every output pixel is that of its own area. */
export function resizePlane(plane: Float32Array, from: Size, to: Size): Float32Array {
  if (to.width === from.width && to.height === from.height) return plane
  const out = new Float32Array(to.width * to.height)
  resizeRows(
    from,
    to,
    1,
    'area',
    (y) => plane.subarray(y * from.width, (y + 1) * from.width),
    (y, row) => out.set(row, y * to.width),
  )
  return out
}

/** 8 bits of 16, dithered by position as a print of 8 bits is. */
export function eightBits({ width, height, space, data }: PrintImage16): PrintImage8 {
  const out = new Uint8Array(data.length)
  for (let y = 0, i = 0; y < height; y++) {
    for (let x = 0; x < width; x++) {
      for (let c = 0; c < 3; c++, i++) {
        out[i] = Math.min(255, Math.floor((data[i]! * 255) / 65535 + ditherPhase(x, y, c)))
      }
    }
  }
  return { width, height, space, data: out }
}
