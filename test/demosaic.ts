// Yardsticks for the demosaic: two linear methods that anyone can write down, and the score they are compared by.

import { demosaicScratchBytes, type Kernels, type Memory } from '#core/kernels'

export type Planes = readonly [Float32Array, Float32Array, Float32Array]

export interface Mosaic {
  readonly width: number
  readonly height: number
  /** Row parity of red · 2 + column parity of red. */
  readonly phase: number
  readonly mosaic: Float32Array
}

/** 0 red, 1 green, 2 blue at a site. */
export function colourAt(phase: number, y: number, x: number): 0 | 1 | 2 {
  const redRow = ((y + (phase >> 1)) & 1) === 0
  const redColumn = ((x + phase) & 1) === 0
  return redRow === redColumn ? (redRow ? 0 : 2) : 1
}

export const newPlanes = (n: number): Planes => [new Float32Array(n), new Float32Array(n), new Float32Array(n)]

/** One sample of each site's own colour. */
export function mosaicOf(planes: Planes, width: number, height: number, phase: number): Mosaic {
  const mosaic = new Float32Array(width * height)
  for (let y = 0, i = 0; y < height; y++)
    for (let x = 0; x < width; x++, i++) mosaic[i] = planes[colourAt(phase, y, x)]![i]!
  return { width, height, phase, mosaic }
}

const reflected = (i: number, n: number) => (i < 0 ? -i : i >= n ? 2 * n - 2 - i : i)

/** Samples at distance (dy, dx), mirrored at the border. */
function reader({ mosaic, width, height }: Mosaic) {
  return (y: number, x: number) => mosaic[reflected(y, height) * width + reflected(x, width)]!
}

/** Each missing colour is the mean of its nearest samples. */
export function bilinear(m: Mosaic): Planes {
  const out = newPlanes(m.mosaic.length)
  const at = reader(m)
  for (let y = 0, i = 0; y < m.height; y++) {
    for (let x = 0; x < m.width; x++, i++) {
      const own = colourAt(m.phase, y, x)
      const cross = (at(y - 1, x) + at(y + 1, x) + at(y, x - 1) + at(y, x + 1)) / 4
      const diagonal = (at(y - 1, x - 1) + at(y - 1, x + 1) + at(y + 1, x - 1) + at(y + 1, x + 1)) / 4
      out[own]![i] = at(y, x)
      if (own === 1) {
        out[colourAt(m.phase, y, x + 1)]![i] = (at(y, x - 1) + at(y, x + 1)) / 2
        out[colourAt(m.phase, y + 1, x)]![i] = (at(y - 1, x) + at(y + 1, x)) / 2
      } else {
        out[1][i] = cross
        out[2 - own]![i] = diagonal
      }
    }
  }
  return out
}

/** Malvar, He, Cutler 2004: "High-quality linear interpolation for demosaicing of Bayer-patterned color images". */
export function gradientCorrected(m: Mosaic): Planes {
  const out = newPlanes(m.mosaic.length)
  const at = reader(m)
  for (let y = 0, i = 0; y < m.height; y++) {
    for (let x = 0; x < m.width; x++, i++) {
      const own = colourAt(m.phase, y, x)
      const centre = at(y, x)
      const h1 = at(y, x - 1) + at(y, x + 1)
      const v1 = at(y - 1, x) + at(y + 1, x)
      const h2 = at(y, x - 2) + at(y, x + 2)
      const v2 = at(y - 2, x) + at(y + 2, x)
      const diagonal = at(y - 1, x - 1) + at(y - 1, x + 1) + at(y + 1, x - 1) + at(y + 1, x + 1)
      out[own]![i] = centre
      if (own === 1) {
        out[colourAt(m.phase, y, x + 1)]![i] = (5 * centre + 4 * h1 - h2 - diagonal + v2 / 2) / 8
        out[colourAt(m.phase, y + 1, x)]![i] = (5 * centre + 4 * v1 - v2 - diagonal + h2 / 2) / 8
      } else {
        out[1][i] = (4 * centre + 2 * (h1 + v1) - h2 - v2) / 8
        out[2 - own]![i] = (6 * centre + 2 * diagonal - 1.5 * (h2 + v2)) / 8
      }
    }
  }
  return out
}

/** Peak signal to noise over all three colours (CPSNR), decibels, leaving out a border. */
export function cpsnr(a: Planes, b: Planes, width: number, height: number, peak: number, border: number): number {
  return psnr(meanSquare(a, b, width, height, border, [0, 1, 2]), peak)
}

export const psnr = (meanSquareError: number, peak: number) => 10 * Math.log10((peak * peak) / meanSquareError)

export function meanSquare(
  a: Planes,
  b: Planes,
  width: number,
  height: number,
  border: number,
  colours: readonly (0 | 1 | 2)[],
): number {
  let sum = 0
  let n = 0
  for (const c of colours)
    for (let y = border; y < height - border; y++)
      for (let x = border; x < width - border; x++, n++) sum += (a[c][y * width + x]! - b[c][y * width + x]!) ** 2
  return sum / n
}

/** IEC 61966-2-1: 0..1 light → 0..1 code, clipped. */
export const srgbCode = (v: number) =>
  v <= 0.0031308 ? 12.92 * Math.max(v, 0) : 1.055 * Math.min(v, 1) ** (1 / 2.4) - 0.055
/** IEC 61966-2-1: code → light. */
export const srgbLight = (c: number) => (c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4)
/** 8-bit code value: rounded and clipped. */
export const eightBit = (v: number) => Math.min(Math.max(Math.round(v), 0), 255)

/** The whole picture through one set of kernels, cut into strips at `cuts` (0 … height; one strip when absent). */
export function demosaicWith(
  memory: Memory,
  kernels: Kernels,
  { mosaic, width, height, phase }: Mosaic,
  toe: number,
  cuts: readonly number[] = [0, height],
  stride = width,
): Planes {
  const aligned = (bytes: number) => (bytes + 127) & ~63
  const scratch = 1024
  const from = scratch + aligned(demosaicScratchBytes(width))
  const red = from + aligned(4 * width * height)
  const plane = aligned(4 * stride * height)
  memory.u8(scratch, demosaicScratchBytes(width)).fill(0xff)
  memory.f32(from, width * height).set(mosaic)
  const at = [red, red + plane, red + 2 * plane] as const
  for (const a of at) memory.f32(a, stride * height).fill(OUTSIDE)
  for (let i = 0; i + 1 < cuts.length; i++) {
    const [y0, y1] = [cuts[i]!, cuts[i + 1]!]
    kernels.demosaicRows(from, width, height, y0, y1, phase, toe, at[0], at[1], at[2], stride, scratch)
  }
  const [r, g, b] = at.map((a) => memory.f32(a, stride * height).slice())
  return [r!, g!, b!]
}

/** What `demosaicWith` leaves where nothing may be written. */
export const OUTSIDE = -12345

/** A value as the demosaic sees it: the units in which its rounding is even. */
export const encodedValue = (m: number, toe: number) =>
  toe > 0 ? Math.sign(m) * ((Math.abs(m) + toe) ** 0.25 - toe ** 0.25) : m
