// Night scenes for the demosaic: real radiance and a synthetic field of lamps, pushed through a sensor's noise.
import { median, type Random, seededRandom } from '#core/base'
import { type Mosaic, newPlanes, type Planes } from './demosaic.ts'
import { readRgbe } from './rgbe.ts'

export interface Scene {
  readonly width: number
  readonly height: number
  readonly planes: Planes
}

/** A crop of a radiance map as a lens would give it (σ ≈ 0.6 px), scaled so that its median is 1. */
export function nightCrop(path: string, x0: number, y0: number, width: number, height: number): Scene {
  const map = readRgbe(path)
  const planes = [map.r, map.g, map.b].map((plane) => {
    const crop = new Float32Array(width * height)
    for (let y = 0; y < height; y++)
      for (let x = 0; x < width; x++) crop[y * width + x] = plane[(y0 + y) * map.width + x0 + x]!
    return blurred(crop, width, height)
  }) as [Float32Array, Float32Array, Float32Array]
  const middle = median(Float32Array.from(planes.flatMap((p) => [...p])))
  for (const plane of planes) for (let i = 0; i < plane.length; i++) plane[i] = plane[i]! / middle
  return { width, height, planes }
}

/** Weights w, 1 − 2w, w along rows and columns: variance 2w = 0.36 px². */
function blurred(from: Float32Array, width: number, height: number): Float32Array {
  const w = 0.18
  let plane = from
  for (const step of [1, width]) {
    const out = plane.slice()
    for (let i = step; i < width * height - step; i++)
      out[i] = w * (plane[i - step]! + plane[i + step]!) + (1 - 2 * w) * plane[i]!
    plane = out
  }
  return plane
}

const LAMP_COLOURS = [
  [1, 1, 1],
  [1, 0.6, 0.2],
  [0.7, 1, 1],
] as const

/**
 * A dark, slightly warm field (0.001 of saturation) with a lamp every 24 pixels: a Gaussian of σ 0.6 px anywhere
 * between the sites with a faint glow, 0.01 to 64 times saturation, white, orange or bluish. `near`: within 6 pixels.
 */
export function lampField(side: number): Scene & { readonly near: Uint8Array } {
  const random = seededRandom(3)
  const planes = newPlanes(side * side)
  ;[0.001, 0.0009, 0.0008].forEach((v, c) => void planes[c]!.fill(v))
  const near = new Uint8Array(side * side)
  for (let y = 20; y < side - 15; y += 24)
    for (let x = 20; x < side - 15; x += 24) {
      const peak = 10 ** (-2 + 3.8 * random.uniform())
      const colour = LAMP_COLOURS[Math.floor(3 * random.uniform())]!
      const [dy, dx] = [random.uniform() - 0.5, random.uniform() - 0.5]
      for (let v = -8; v <= 8; v++)
        for (let u = -8; u <= 8; u++) {
          const i = (y + v) * side + x + u
          const light = Math.exp(-((v - dy) ** 2 + (u - dx) ** 2) / (2 * 0.36)) + 2e-4 / (1 + (v * v + u * u) / 4)
          for (const c of [0, 1, 2] as const) planes[c][i] = planes[c][i]! + peak * light * colour[c]
          if (Math.max(Math.abs(v), Math.abs(u)) <= 6) near[i] = 1
        }
    }
  return { width: side, height: side, planes, near }
}

/** Variance of the test sensor, 1 = saturation: about 10,000 electrons full, 3 electrons read noise. */
export const sensorVariance = (x: number) => 1e-4 * Math.max(x, 0) + 9e-8

export function withNoise(m: Mosaic, random: Random): Mosaic {
  return { ...m, mosaic: m.mosaic.map((v) => v + random.normal() * Math.sqrt(sensorVariance(v))) }
}
