import { type Paint, paintRoof, paintWall } from './facades.ts'
import type { Grid } from './grid.ts'
import { paintGround } from './ground.ts'
import type { LampLight } from './lamplight.ts'
import { clamp, ease, hash, noise2 } from './noise.ts'
import { crest, isUpper, isWater, LOWER_LEVEL, offBank, towardWater, UPPER_LEVEL } from './river.ts'
import { hazeColour, hillRadiance, skyLight, skyRadiance } from './sky.ts'
import { deckHeight, type Entry, type Solid } from './solids.ts'
import { faceFoam, foam, roughness, waterSlope } from './water.ts'

/** Metres over which haze takes away all but 1/e of a thing's own light. */
const HAZE_METRES = 4200

const isUpperWater = (x: number, y: number) => isWater(x, y) && isUpper(x, y)

/** What a ray sees: the radiance along it, into out[0..2]. `spread` is the angle of a pixel, in radians. */
export type Look = (ox: number, oy: number, oz: number, dx: number, dy: number, dz: number, out: Float64Array) => void

export function lookOf(grid: Grid, lamps: LampLight, seed: number, spread: number): Look {
  const paint: Paint = { albedo: new Float64Array(3), glow: new Float64Array(3), gloss: 0 }
  const light = new Float64Array(3)
  const mirror = new Float64Array(3)
  const haze = new Float64Array(3)
  const slope = new Float64Array(2)
  const entry: Entry = { distance: 0, face: 0 }

  /** Lights what `paint` shows, seen along d, and writes its radiance. */
  function illuminate(
    x: number,
    y: number,
    z: number,
    nx: number,
    ny: number,
    nz: number,
    openness: number,
    shadows: boolean,
    dx: number,
    dy: number,
    dz: number,
    out: Float64Array,
  ): void {
    skyLight(nx, ny, nz, light)
    for (let c = 0; c < 3; c++) light[c]! *= openness
    lamps.add(x, y, z, nx, ny, nz, shadows, light)
    for (let c = 0; c < 3; c++) out[c] = paint.albedo[c]! * light[c]! + paint.glow[c]!
    if (paint.gloss > 0) {
      const facing = Math.abs(dx * nx + dy * ny + dz * nz)
      const share = paint.gloss + (1 - paint.gloss) * 0.6 * (1 - facing) ** 5
      const m = 2 * (dx * nx + dy * ny + dz * nz)
      hazeColour(dx - m * nx, dy - m * ny, mirror)
      for (let c = 0; c < 3; c++) out[c]! += share * mirror[c]! * 0.8 * openness
    }
  }

  function shadeSolid(
    s: Solid,
    face: number,
    x: number,
    y: number,
    z: number,
    t: number,
    dx: number,
    dy: number,
    dz: number,
    shadows: boolean,
    out: Float64Array,
  ): void {
    const grain = t * spread
    if (s.kind === 'tree') {
      const nx = (x - s.x) / (s.a * s.a)
      const ny = (y - s.y) / (s.a * s.a)
      const nz = (z - s.base - s.middle) / (s.b * s.b)
      const n = 1 / Math.hypot(nx, ny, nz)
      const clump =
        noise2(x * 1.3 + z, y * 1.3 - z, 71) * 0.7 + hash(Math.floor(x * 5), Math.floor(y * 5 + z * 7), 72) * 0.6
      const lower = 0.35 + 0.65 * ease(-0.7, 0.6, nz * n)
      for (let c = 0; c < 3; c++) paint.albedo[c] = s.leaf[c]! * clump * 1.5
      paint.glow.fill(0)
      paint.gloss = 0
      illuminate(x, y, z, nx * n, ny * n, nz * n, lower, shadows, dx, dy, dz, out)
      return
    }
    const rx = x - s.x
    const ry = y - s.y
    const u = rx * s.cos + ry * s.sin
    const v = -rx * s.sin + ry * s.cos
    if (s.kind === 'bridge') {
      const stone = 0.24 * (0.8 + 0.4 * noise2(u * 1.2, z * 2.1, 73))
      const joint = ease(0.2, 0.05, grain) * (((z + 40) / 0.42) % 1 < 0.14 ? 0.25 : 0)
      paint.albedo.set([stone * 1.08 * (1 - joint), stone * (1 - joint), stone * 0.86 * (1 - joint)])
      paint.glow.fill(0)
      paint.gloss = 0.02
      if (face === 4) illuminate(x, y, z, 0, 0, 1, 0.9, shadows, dx, dy, dz, out)
      else if (face === 9) illuminate(x, y, z, 0, 0, -1, 0.35, shadows, dx, dy, dz, out)
      else {
        const side = face === 2 ? -1 : 1
        const parapet = deckHeight(u) - z < 1.1 ? 1.25 : 1
        illuminate(x, y, z, -s.sin * side, s.cos * side, 0, 0.75 * parapet, shadows, dx, dy, dz, out)
      }
      return
    }
    const up = z - s.base
    let nx = 0
    let ny = 0
    let nz = 0
    let openness = 0.95
    if (face < 4) {
      const isEnd = face < 2
      const sign = face % 2 === 0 ? -1 : 1
      nx = isEnd ? sign * s.cos : -sign * s.sin
      ny = isEnd ? sign * s.sin : sign * s.cos
      paintWall(s, face, isEnd ? v + s.b : u + s.a, isEnd ? 2 * s.b : 2 * s.a, up, grain, paint)
      openness = 0.42 + 0.5 * ease(0, 8, z)
    } else {
      const across = face < 6
      const sign = face === 4 || face === 6 ? 1 : -1
      const pitch = s.rise / (across ? s.b : s.hip)
      const norm = 1 / Math.hypot(1, pitch)
      nz = norm
      nx = across ? -s.sin * sign * pitch * norm : s.cos * sign * pitch * norm
      ny = across ? s.cos * sign * pitch * norm : s.sin * sign * pitch * norm
      const slopeLength = Math.hypot(1, pitch)
      paintRoof(
        s,
        (across ? u : v) + 500,
        (across ? Math.abs(v) : Math.abs(u) - s.a + s.hip) * slopeLength,
        grain,
        paint,
      )
    }
    illuminate(x, y, z, nx, ny, nz, openness, shadows, dx, dy, dz, out)
  }

  function shadeGround(
    x: number,
    y: number,
    t: number,
    dx: number,
    dy: number,
    dz: number,
    shadows: boolean,
    out: Float64Array,
  ): void {
    paintGround(x, y, t * spread, paint.albedo)
    paint.glow.fill(0)
    paint.gloss = 0.02
    const off = offBank(x, y)
    illuminate(x, y, 0, 0, 0, 1, off < 24 ? 0.9 : 0.62, shadows, dx, dy, dz, out)
  }

  function shadeQuay(
    x: number,
    y: number,
    z: number,
    t: number,
    shadows: boolean,
    dx: number,
    dy: number,
    dz: number,
    out: Float64Array,
  ): void {
    const along = y + x * 0.6
    const block = 0.8 + 0.4 * hash(Math.floor(along / 0.9 + (Math.floor(z / 0.4) % 2) * 0.5), Math.floor(z / 0.4), 74)
    const show = ease(0.4, 0.1, t * spread)
    const wet = 0.45 + 0.55 * ease(-0.2, 1.2, z - (isUpper(x, y) ? UPPER_LEVEL : LOWER_LEVEL))
    const k = 0.2 * (1 + show * (block - 1)) * wet
    paint.albedo.set([k * 1.05, k, k * 0.88])
    paint.glow.fill(0)
    paint.gloss = 0.03
    towardWater(x, y, slope)
    illuminate(x, y, z, slope[0]!, slope[1]!, 0, 0.6, shadows, dx, dy, dz, out)
  }

  function shadeWhite(
    x: number,
    y: number,
    z: number,
    ny: number,
    share: number,
    shadows: boolean,
    dx: number,
    dy: number,
    dz: number,
    out: Float64Array,
  ): void {
    paint.albedo.set([2.3, 2.45, 2.6])
    paint.glow.fill(0)
    paint.gloss = 0
    illuminate(x, y, z, 0, ny, Math.sqrt(1 - ny * ny), 1, shadows, dx, dy, dz, white)
    for (let c = 0; c < 3; c++) out[c]! += (white[c]! - out[c]!) * share
  }
  const white = new Float64Array(3)

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
    glitter(x, y, z, dx, dy, dz, out)
    const white = foam(x, y)
    if (white > 0) shadeWhite(x, y, z, 0, white, true, dx, dy, dz, out)
  }

  /** Lamps mirrored in the ripples: slopes distributed as a Gaussian (Cox, Munk 1954). */
  function glitter(x: number, y: number, z: number, dx: number, dy: number, dz: number, out: Float64Array): void {
    const variance = roughness(x, y) * 1.6
    const list = lamps.near(x, y)
    for (let k = 0; k < list.length; k++) {
      const lamp = list[k]!
      const lx = lamp.x - x
      const ly = lamp.y - y
      const lz = lamp.z - z
      const d2 = lx * lx + ly * ly + lz * lz
      const d = Math.sqrt(d2)
      const hx = lx / d - dx
      const hy = ly / d - dy
      const hz = lz / d - dz
      const s2 = (hx * hx + hy * hy) / (hz * hz)
      if (s2 > 9 * variance) continue
      const hLength = Math.hypot(hx, hy, hz)
      const upright = hz / hLength
      const incidence = (lx * hx + ly * hy + lz * hz) / (d * hLength)
      const fresnel = 0.02 + 0.98 * (1 - incidence) ** 5
      const density = Math.exp(-s2 / variance) / (Math.PI * variance)
      const sparkle = 0.35 + 1.3 * hash(Math.floor(x * 9), Math.floor(y * 3), 75)
      const fade = Math.max(1 - d2 / 12100, 0) ** 2
      const size = (fade * fresnel * density * Math.PI * sparkle) / (4 * Math.max(-dz, 0.06) * upright ** 4 * d2)
      for (let c = 0; c < 3; c++) out[c]! += size * lamp.power[c]!
    }
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
        shadeQuay(ox + low * dx, oy + low * dy, oz + low * dz, low, false, dx, dy, dz, out)
        return
      }
    } else if (dz < 0) {
      const ground = -oz / dz
      const gx = ox + ground * dx
      const gy = oy + ground * dy
      if (t > ground && !isWater(gx, gy)) {
        if (ground > 1500) behind(dx, dy, Math.min(dz, -0.001), out)
        else {
          shadeGround(gx, gy, ground, dx, dy, dz, ground < 700, out)
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
              shadeQuay(ox + wall * dx, oy + wall * dy, oz + wall * dz, wall, true, dx, dy, dz, out)
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
      shadeSolid(solid, face, ox + t * dx, oy + t * dy, oz + t * dz, t, dx, dy, dz, !isMirrored && t < 700, out)
      veil(t, dx, dy, out)
      return
    }
    behind(dx, dy, dz, out)
  }

  function shadeFace(x: number, y: number, dx: number, dy: number, dz: number, out: Float64Array): void {
    const down = clamp(1 - (y - crest(x)) / 8, 0, 1)
    out.set([0.01, 0.015, 0.02])
    shadeWhite(
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
