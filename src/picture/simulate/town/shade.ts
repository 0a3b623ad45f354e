import type { Grid } from './grid.ts'
import type { LampLight } from './lamplight.ts'
import { clamp } from './noise.ts'
import { crest, isUpper, isWater, LOWER_LEVEL, offBank, UPPER_LEVEL } from './river.ts'
import { hazeColour, hillRadiance, skyRadiance } from './sky.ts'
import type { Entry } from './solids.ts'
import { surfacesOf } from './surfaces.ts'
import { faceFoam, foam, waterSlope } from './water.ts'

/** Metres over which haze takes away all but 1/e of a thing's own light. */
const HAZE_METRES = 4200

const isUpperWater = (x: number, y: number) => isWater(x, y) && isUpper(x, y)

/** What a ray sees: the radiance along it, into out[0..2]. `spread` is the angle of a pixel, in radians. */
export type Look = (ox: number, oy: number, oz: number, dx: number, dy: number, dz: number, out: Float64Array) => void

export function lookOf(grid: Grid, lamps: LampLight, seed: number, spread: number): Look {
  const surfaces = surfacesOf(lamps, spread)
  const haze = new Float64Array(3)
  const slope = new Float64Array(2)
  const entry: Entry = { distance: 0, face: 0 }

  function shadeWater(
    x: number,
    y: number,
    z: number,
    t: number,
    dx: number,
    dy: number,
    dz: number,
    out: Float64Array,
  ): void {
    const grain = t * spread * Math.min(1 / Math.max(-dz, 0.05), 8)
    waterSlope(x, y, grain, slope)
    const n = 1 / Math.hypot(slope[0]!, slope[1]!, 1)
    const nx = -slope[0]! * n
    const ny = -slope[1]! * n
    const facing = clamp(-(dx * nx + dy * ny + dz * n), 0.02, 1)
    // Schlick 1994 for water, normal reflectance 2 %; raised a little, as long exposures of rippled water are.
    const fresnel = 0.05 + 0.95 * (1 - facing) ** 5
    const m = 2 * facing
    const rx = dx + m * nx
    const ry = dy + m * ny
    const rz = Math.max(dz + m * n, 0.01)
    look(x, y, z + 0.01, rx, ry, rz, true, out)
    for (let c = 0; c < 3; c++) out[c] = out[c]! * fresnel + [0.0035, 0.0075, 0.0105][c]! * (1 - fresnel)
    surfaces.glitter(x, y, z, dx, dy, dz, out)
    const white = foam(x, y)
    if (white > 0) surfaces.white(x, y, z, 0, white, true, dx, dy, dz, out)
  }

  function behind(dx: number, dy: number, dz: number, out: Float64Array): void {
    if (!hillRadiance(dx, dy, dz, seed, out)) skyRadiance(dx, dy, dz, seed, out)
  }

  function look(
    ox: number,
    oy: number,
    oz: number,
    dx: number,
    dy: number,
    dz: number,
    isMirrored: boolean,
    out: Float64Array,
  ): void {
    entry.distance = isMirrored ? 500 : 2200
    const solid = grid.nearest(ox, oy, oz, dx, dy, dz, entry)
    let t = solid ? entry.distance : Infinity
    const face = entry.face
    if (isMirrored) {
      // The bank above the mirror, if the ray is still over land when it rises past the quay.
      const rise = -oz / dz
      if (rise < t && !isWater(ox + rise * dx, oy + rise * dy)) {
        const low = edge(ox, oy, dx, dy, 0, rise)
        surfaces.quay(ox + low * dx, oy + low * dy, oz + low * dz, low, false, dx, dy, dz, out)
        return
      }
    } else if (dz < 0) {
      const ground = -oz / dz
      const gx = ox + ground * dx
      const gy = oy + ground * dy
      if (t > ground && !isWater(gx, gy)) {
        if (ground > 1500) behind(dx, dy, Math.min(dz, -0.001), out)
        else {
          surfaces.ground(gx, gy, ground, dx, dy, dz, ground < 700, out)
          veil(ground, dx, dy, out)
        }
        return
      }
      const upper = (UPPER_LEVEL - oz) / dz
      const lower = (LOWER_LEVEL - oz) / dz
      if (t > ground) {
        const levelAtUpper = isUpperWater(ox + upper * dx, oy + upper * dy)
        const end = levelAtUpper ? upper : lower
        const x = ox + end * dx
        const y = oy + end * dy
        if (t > end || !solid) {
          if (!isWater(x, y)) {
            const wall = edge(ox, oy, dx, dy, ground, end)
            if (wall < t) {
              surfaces.quay(ox + wall * dx, oy + wall * dy, oz + wall * dz, wall, true, dx, dy, dz, out)
              veil(wall, dx, dy, out)
              return
            }
          } else if (!levelAtUpper && isUpper(x, y)) {
            // Between the two levels: the weir's face, or the wall of the lower gate.
            shadeFace(x, y, dx, dy, dz, out)
            veil(lower, dx, dy, out)
            return
          } else if (end < t) {
            shadeWater(x, y, levelAtUpper ? UPPER_LEVEL : LOWER_LEVEL, end, dx, dy, dz, out)
            veil(end, dx, dy, out)
            return
          }
        }
      }
    }
    if (solid) {
      t = Math.min(t, 2200)
      surfaces.solid(solid, face, ox + t * dx, oy + t * dy, oz + t * dz, t, dx, dy, dz, !isMirrored && t < 700, out)
      veil(t, dx, dy, out)
      return
    }
    behind(dx, dy, dz, out)
  }

  function shadeFace(x: number, y: number, dx: number, dy: number, dz: number, out: Float64Array): void {
    const down = clamp(1 - (y - crest(x)) / 8, 0, 1)
    out.set([0.01, 0.015, 0.02])
    surfaces.white(
      x,
      y,
      (UPPER_LEVEL + LOWER_LEVEL) / 2,
      -0.75,
      offBank(x, y) < 0 ? faceFoam(x, down) : 0.05,
      true,
      dx,
      dy,
      dz,
      out,
    )
  }

  /** Where a ray that is over water at one end crosses the bank, by halving. */
  function edge(ox: number, oy: number, dx: number, dy: number, from: number, to: number): number {
    let wet = from
    let dry = to
    for (let i = 0; i < 14; i++) {
      const mid = (wet + dry) / 2
      if (isWater(ox + mid * dx, oy + mid * dy)) wet = mid
      else dry = mid
    }
    return dry
  }

  function veil(t: number, dx: number, dy: number, out: Float64Array): void {
    const clear = Math.exp(-t / HAZE_METRES)
    hazeColour(dx, dy, haze)
    for (let c = 0; c < 3; c++) out[c] = out[c]! * clear + haze[c]! * (1 - clear)
  }

  return (ox, oy, oz, dx, dy, dz, out) => look(ox, oy, oz, dx, dy, dz, false, out)
}
