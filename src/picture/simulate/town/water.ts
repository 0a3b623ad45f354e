import { ease, hash, layers, noise2 } from './noise.ts'
import { crest, isUpper, offBank, sideOf } from './river.ts'

/** How rough the water is at a place: the variance of its slopes. */
export function roughness(x: number, y: number): number {
  if (isUpper(x, y)) return 0.0022
  const below = crest(x) - y
  return 0.003 + 0.02 * Math.exp(-Math.max(below, 0) / 24)
}

/** Slopes of the surface east and north, into out: waves where a pixel shows them, chance where it does not. */
export function waterSlope(x: number, y: number, grain: number, out: Float64Array): void {
  const size = Math.sqrt(roughness(x, y))
  const show = ease(0.9, 0.15, grain)
  const e = 0.35
  const wave = (px: number, py: number) =>
    noise2(px * 0.75 + 0.3 * py, py * 0.9, 51) + 0.5 * noise2(px * 1.9, py * 2.3 + 0.4 * px, 52)
  const here = wave(x, y)
  out[0] = show * size * 1.5 * ((wave(x + e, y) - here) / e)
  out[1] = show * size * 1.5 * ((wave(x, y + e) - here) / e)
  const chance = size * (1 - 0.75 * show)
  const kx = Math.floor(x * 41)
  const ky = Math.floor(y * 37)
  out[0]! += chance * (hash(kx, ky, 53) + hash(kx, ky, 54) - 1) * 1.2
  out[1]! += chance * (hash(kx, ky, 55) + hash(kx, ky, 56) - 1) * 1.2
}

/** Share of white water at a place on the surface, 0..1: boiling under the weir, then streaks, then flecks. */
export function foam(x: number, y: number): number {
  if (sideOf(x, y) > 0 && offBank(x, y) > -0.5) return 0
  const below = crest(x) - y
  if (below < 0 || below > 70) return 0
  const streaks = layers(x * 0.9, y * 0.16, 57, 4)
  const boil = layers(x * 1.3, y * 1.3, 58, 3)
  const close = Math.exp(-((below / 7.5) ** 2)) * (0.75 + 0.6 * boil)
  const tail = Math.exp(-below / 19) * ease(0.42, 0.68, streaks) * 0.8
  const flecks = Math.exp(-below / 30) * ease(0.62, 0.7, layers(x * 1.1, y * 0.5, 59, 4)) * 0.22 * ease(70, 50, below)
  return Math.min(close + tail + flecks, 1)
}

/** White water on the weir's sloping face: threads that run down it. `down` is 0 at the crest and 1 at the foot. */
export function faceFoam(x: number, down: number): number {
  const threads = noise2(x * 2.6, down * 0.9, 61) * 0.6 + noise2(x * 7.5, down * 1.6, 62) * 0.4
  return 0.16 + 0.84 * ease(0.18, 0.7, threads * 0.75 + down * 0.42)
}
