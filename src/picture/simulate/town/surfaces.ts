import { type Paint, paintRoof, paintWall } from './facades.ts'
import { paintGround } from './ground.ts'
import type { LampLight } from './lamplight.ts'
import { ease, hash, noise2 } from './noise.ts'
import { isUpper, LOWER_LEVEL, offBank, towardWater, UPPER_LEVEL } from './river.ts'
import { hazeColour, skyLight } from './sky.ts'
import { deckHeight, type Solid } from './solids.ts'
import { roughness } from './water.ts'

/** Radiance of the things in the town, seen along a direction d; each writes out[0..2]. */
export interface Surfaces {
  /** Where a ray enters a solid by a face, t metres away. */
  solid(
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
  ): void
  ground(x: number, y: number, t: number, dx: number, dy: number, dz: number, shadows: boolean, out: Float64Array): void
  /** A quay wall. */
  quay(
    x: number,
    y: number,
    z: number,
    t: number,
    shadows: boolean,
    dx: number,
    dy: number,
    dz: number,
    out: Float64Array,
  ): void
  /** Mixes white water in by its share. */
  white(
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
  ): void
  /** Adds the lamps that the ripples mirror. */
  glitter(x: number, y: number, z: number, dx: number, dy: number, dz: number, out: Float64Array): void
}

/** `spread` is the angle of a pixel, in radians: detail finer than it fades. */
export function surfacesOf(lamps: LampLight, spread: number): Surfaces {
  const paint: Paint = { albedo: new Float64Array(3), glow: new Float64Array(3), gloss: 0 }
  const light = new Float64Array(3)
  const mirror = new Float64Array(3)
  const foam = new Float64Array(3)
  const toward = new Float64Array(2)

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

  const solid: Surfaces['solid'] = (s, face, x, y, z, t, dx, dy, dz, shadows, out) => {
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

  const ground: Surfaces['ground'] = (x, y, t, dx, dy, dz, shadows, out) => {
    paintGround(x, y, t * spread, paint.albedo)
    paint.glow.fill(0)
    paint.gloss = 0.02
    const off = offBank(x, y)
    illuminate(x, y, 0, 0, 0, 1, off < 24 ? 0.9 : 0.62, shadows, dx, dy, dz, out)
  }

  const quay: Surfaces['quay'] = (x, y, z, t, shadows, dx, dy, dz, out) => {
    const along = y + x * 0.6
    const block = 0.8 + 0.4 * hash(Math.floor(along / 0.9 + (Math.floor(z / 0.4) % 2) * 0.5), Math.floor(z / 0.4), 74)
    const show = ease(0.4, 0.1, t * spread)
    const wet = 0.45 + 0.55 * ease(-0.2, 1.2, z - (isUpper(x, y) ? UPPER_LEVEL : LOWER_LEVEL))
    const k = 0.2 * (1 + show * (block - 1)) * wet
    paint.albedo.set([k * 1.05, k, k * 0.88])
    paint.glow.fill(0)
    paint.gloss = 0.03
    towardWater(x, y, toward)
    illuminate(x, y, z, toward[0]!, toward[1]!, 0, 0.6, shadows, dx, dy, dz, out)
  }

  const white: Surfaces['white'] = (x, y, z, ny, share, shadows, dx, dy, dz, out) => {
    paint.albedo.set([2.3, 2.45, 2.6])
    paint.glow.fill(0)
    paint.gloss = 0
    illuminate(x, y, z, 0, ny, Math.sqrt(1 - ny * ny), 1, shadows, dx, dy, dz, foam)
    for (let c = 0; c < 3; c++) out[c]! += (foam[c]! - out[c]!) * share
  }
  /** Lamps mirrored in the ripples: slopes distributed as a Gaussian (Cox, Munk 1954). */
  const glitter: Surfaces['glitter'] = (x, y, z, dx, dy, dz, out) => {
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

  return { solid, ground, quay, white, glitter }
}
