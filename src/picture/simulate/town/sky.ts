import { clamp, ease, hash, layers, noise2 } from './noise.ts'

/** Where the sun went down: radians clockwise from north. */
const GLOW_AZIMUTH = 0.22

type Stop = readonly [elevation: number, red: number, green: number, blue: number]

/** Colours upward from the horizon toward the glow: orange, straw, pale green, then the blue of the night. */
const towardGlow: readonly Stop[] = [
  [0, 1.0, 0.36, 0.085],
  [0.022, 0.95, 0.45, 0.14],
  [0.055, 0.68, 0.46, 0.25],
  [0.1, 0.31, 0.32, 0.31],
  [0.17, 0.105, 0.17, 0.27],
  [0.3, 0.045, 0.088, 0.2],
  [0.8, 0.03, 0.06, 0.16],
  [1.6, 0.025, 0.05, 0.13],
]

/** And away from it: the earth's shadow under a dusky rose. */
const awayFromGlow: readonly Stop[] = [
  [0, 0.13, 0.14, 0.21],
  [0.05, 0.17, 0.15, 0.22],
  [0.11, 0.19, 0.16, 0.25],
  [0.2, 0.085, 0.115, 0.225],
  [0.45, 0.035, 0.07, 0.17],
  [1.6, 0.025, 0.05, 0.13],
]

function colourAt(stops: readonly Stop[], elevation: number, share: number, out: Float64Array): void {
  let i = 1
  while (i < stops.length - 1 && elevation > stops[i]![0]) i++
  const a = stops[i - 1]!
  const b = stops[i]!
  const t = clamp((elevation - a[0]) / (b[0] - a[0]), 0, 1)
  for (let c = 0; c < 3; c++) out[c]! += share * (a[c + 1]! + (b[c + 1]! - a[c + 1]!) * t)
}

/** Twilight sky without clouds, of a direction by elevation (radians, ≥ 0) and azimuth from the glow. */
function clearSky(elevation: number, fromGlow: number, out: Float64Array): void {
  const near = Math.exp(-((fromGlow / 0.95) ** 2))
  out.fill(0)
  colourAt(towardGlow, elevation, near, out)
  colourAt(awayFromGlow, elevation, 1 - near, out)
}

/** Radiance of the sky in a direction, into out[0..2]. dz below 0 gives the horizon. */
export function skyRadiance(dx: number, dy: number, dz: number, seed: number, out: Float64Array): void {
  const elevation = Math.asin(clamp(dz, 0, 1))
  let fromGlow = Math.atan2(dx, dy) - GLOW_AZIMUTH
  if (fromGlow > Math.PI) fromGlow -= 2 * Math.PI
  if (fromGlow < -Math.PI) fromGlow += 2 * Math.PI
  clearSky(elevation, fromGlow, out)
  if (dz < 0.006) return
  // Thin layered cloud on a flat deck, stretched along the wind; near the horizon it closes up by perspective.
  const along = (dx * 0.92 + dy * 0.39) / (dz + 0.05)
  const across = (-dx * 0.39 + dy * 0.92) / (dz + 0.05)
  const body = layers(along * 0.42 + 3, across * 1.15, seed + 50, 5)
  const cover =
    ease(0.5, 0.78, body - 0.06 + 0.1 * noise2(along * 0.12, across * 0.2, seed + 60)) * ease(0.006, 0.05, dz)
  if (cover > 0) {
    const near = Math.exp(-((fromGlow / 0.85) ** 2)) * Math.exp(-elevation / 0.2)
    const thick = ease(0.55, 0.85, body)
    const share = cover * (0.82 - 0.25 * near)
    out[0]! += (0.085 + 0.85 * near * (1 - 0.45 * thick) - out[0]!) * share
    out[1]! += (0.09 + 0.23 * near * (1 - 0.6 * thick) - out[1]!) * share
    out[2]! += (0.15 + 0.09 * near * (1 - 0.6 * thick) - out[2]!) * share
  }
  star(dx, dy, dz, elevation, seed, out)
}

/** A few stars where the sky is dark enough. */
function star(dx: number, dy: number, dz: number, elevation: number, seed: number, out: Float64Array): void {
  if (elevation < 0.25) return
  const u = (Math.atan2(dx, dy) * 260) | 0
  const v = (dz * 260) | 0
  if (hash(u, v, seed + 70) > 0.9985) {
    const size = 0.12 * ease(0.25, 0.5, elevation)
    for (let c = 0; c < 3; c++) out[c]! += size
  }
}

/** Diffuse light from the sky on a surface of unit normal (nx, ny, nz), as the radiance of a white surface; into out. */
export function skyLight(nx: number, ny: number, nz: number, out: Float64Array): void {
  const up = 0.5 + 0.5 * nz
  const warm = Math.max(nx * Math.sin(GLOW_AZIMUTH) + ny * Math.cos(GLOW_AZIMUTH), 0)
  out[0] = 0.005 + 0.022 * up + 0.055 * warm
  out[1] = 0.007 + 0.037 * up + 0.03 * warm
  out[2] = 0.011 + 0.078 * up + 0.016 * warm
}

/** The horizon's colour toward a direction: what haze takes on. */
export function hazeColour(dx: number, dy: number, out: Float64Array): void {
  let fromGlow = Math.atan2(dx, dy) - GLOW_AZIMUTH
  if (fromGlow < -Math.PI) fromGlow += 2 * Math.PI
  clearSky(0.05, fromGlow, out)
  for (let c = 0; c < 3; c++) out[c]! *= 0.27
  out[2]! += 0.04
}

/** Ridges beyond the town, far to near: distance, height of the crest above the eye line, roughness seed. */
const ridges = [
  { distance: 9000, crest: 0.05, wave: 2.1, seed: 81, shade: 0.86 },
  { distance: 5200, crest: 0.036, wave: 3.4, seed: 82, shade: 0.7 },
  { distance: 2900, crest: 0.022, wave: 5.3, seed: 83, shade: 0.54 },
  { distance: 1750, crest: 0.009, wave: 8.1, seed: 84, shade: 0.36 },
] as const

/** Hills in a direction near the horizon; false when the sky is seen there. */
export function hillRadiance(dx: number, dy: number, dz: number, seed: number, out: Float64Array): boolean {
  if (dz > 0.07) return false
  const azimuth = Math.atan2(dx, dy)
  for (let i = ridges.length - 1; i >= 0; i--) {
    const ridge = ridges[i]!
    const shape = layers(azimuth * ridge.wave + 40, 0.5, seed + ridge.seed, 4)
    const trees =
      (noise2(azimuth * 900 * (1800 / ridge.distance), 0.5, seed + ridge.seed + 7) - 0.5) * (2.4 / ridge.distance)
    if (dz > ridge.crest * (2.6 * shape - 0.6) + trees) continue
    hazeColour(dx, dy, out)
    const below = clamp((ridge.crest * (2.6 * shape - 0.6) - dz) / 0.03, 0, 1)
    const mottle = 0.7 + 0.6 * layers(azimuth * 240, dz * 900, seed + ridge.seed + 3, 3)
    const share = ridge.shade * (1 + 0.18 * below)
    out[0] = out[0]! * share + 0.006 * mottle * (1 - ridge.shade)
    out[1] = out[1]! * share + 0.009 * mottle * (1 - ridge.shade)
    out[2] = out[2]! * share + 0.012 * mottle * (1 - ridge.shade)
    return true
  }
  return false
}
