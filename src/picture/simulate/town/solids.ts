import { hash } from './noise.ts'

/** A building, boat or gate: a box with a roof of two or four slopes (rise 0: flat). A convex body. */
export interface House {
  readonly kind: 'house'
  readonly use: 'home' | 'shop' | 'mill' | 'church' | 'plain' | 'boat' | 'post'
  readonly x: number
  readonly y: number
  readonly base: number
  /** Direction of the ridge: cosine and sine. */
  readonly cos: number
  readonly sin: number
  /** Half length along the ridge and half width across it. */
  readonly a: number
  readonly b: number
  /** Height of the walls and of the roof above them. */
  readonly wallHeight: number
  readonly rise: number
  /** Length over which the ridge ends slope down; 0 = gables. */
  readonly hip: number
  readonly wall: readonly [number, number, number]
  readonly roof: readonly [number, number, number]
  readonly seed: number
}

/** A crown of leaves. */
export interface Tree {
  readonly kind: 'tree'
  readonly x: number
  readonly y: number
  readonly base: number
  /** Middle of the crown above the base, radius across, radius up. */
  readonly middle: number
  readonly a: number
  readonly b: number
  readonly leaf: readonly [number, number, number]
  readonly seed: number
}

/** A stone bridge of three arches across the river. */
export interface Bridge {
  readonly kind: 'bridge'
  readonly x: number
  readonly y: number
  readonly base: number
  readonly cos: number
  readonly sin: number
  readonly a: number
  readonly b: number
  readonly seed: number
}

export type Solid = House | Tree | Bridge

export const topOf = (s: Solid): number =>
  s.kind === 'house' ? s.base + s.wallHeight + s.rise : s.kind === 'tree' ? s.base + s.middle + s.b : 6

const radiusOf = (s: Solid): number => (s.kind === 'tree' ? s.a : Math.hypot(s.a, s.b))

/** Half of its extent east and north. */
export const extentOf = (s: Solid): readonly [number, number] =>
  s.kind === 'tree'
    ? [s.a, s.a]
    : [Math.abs(s.cos) * s.a + Math.abs(s.sin) * s.b, Math.abs(s.sin) * s.a + Math.abs(s.cos) * s.b]

/** Numbers of a solid in a row, so that rays test them without looking at objects. */
export const STRIDE = 16
/** Lamp posts are told apart: they are seen, but cast no shadow of their own lamp. */
export const POST = 3
const KIND = { house: 0, tree: 1, bridge: 2 } as const

export function packSolids(solids: readonly Solid[]): Float64Array {
  const out = new Float64Array(solids.length * STRIDE)
  solids.forEach((s, i) => {
    const top = topOf(s)
    const bottom = s.kind === 'bridge' ? -6 : s.kind === 'tree' ? s.base + s.middle - s.b : s.base
    const r = radiusOf(s)
    const shape =
      s.kind === 'house'
        ? [s.cos, s.sin, s.a, s.b, s.wallHeight, s.rise, s.hip]
        : s.kind === 'tree'
          ? [s.middle, 0, s.a, s.b, 0, 0, 0]
          : [s.cos, s.sin, s.a, s.b, 0, 0, 0]
    // A ball around it, for the quick no: centre height and radius squared.
    const ball = [(top + bottom) / 2, r * r + ((top - bottom) / 2) ** 2]
    const kind = s.kind === 'house' && s.use === 'post' ? POST : KIND[s.kind]
    out.set([kind, s.x, s.y, s.base, ...shape, s.seed, ...ball], i * STRIDE)
  })
  return out
}

/** Where a ray went in: distance and face. Faces: 0 −u, 1 +u, 2 −v, 3 +v walls; 4 +v, 5 −v, 6 +u, 7 −u roof; 8 crown; 9 under an arch. */
export interface Entry {
  distance: number
  face: number
}

/**
 * Nearest entry of a ray into solid number `index` of packed solids between 0 and entry.distance; updates `entry` and
 * says whether there was one.
 */
export function enter(
  solids: Float64Array,
  index: number,
  ox: number,
  oy: number,
  oz: number,
  dx: number,
  dy: number,
  dz: number,
  entry: Entry,
): boolean {
  const at = index * STRIDE
  const rx = ox - solids[at + 1]!
  const ry = oy - solids[at + 2]!
  const ez = oz - solids[at + 12]!
  const along = rx * dx + ry * dy + ez * dz
  const outside = rx * rx + ry * ry + ez * ez - solids[at + 13]!
  if (outside > 0 && (along > 0 || along * along < outside)) return false
  const z = oz - solids[at + 3]!
  const kind = solids[at]!
  if (kind === 1) return enterTree(solids, at, rx, ry, z, dx, dy, dz, entry)
  const cos = solids[at + 4]!
  const sin = solids[at + 5]!
  const u = rx * cos + ry * sin
  const v = -rx * sin + ry * cos
  const du = dx * cos + dy * sin
  const dv = -dx * sin + dy * cos
  return kind !== 2
    ? enterHouse(solids, at, u, v, z, du, dv, dz, entry)
    : enterBridge(solids[at + 6]!, solids[at + 7]!, u, v, z, du, dv, dz, entry)
}

/** The stretch of the ray that is inside all planes so far, and the face through which it came in. */
let near = 0
let far = 0
let face = -1

/** Cuts the stretch by a plane: `value` at the origin (inside where ≤ 0) and its change along the ray; false = nothing left. */
function cut(value: number, change: number, k: number): boolean {
  if (value > 0) {
    if (change >= 0) return false
    const t = -value / change
    if (t > near) {
      near = t
      face = k
    }
  } else if (change > 0) {
    const t = -value / change
    if (t < far) far = t
  }
  return near < far
}

function enterHouse(
  solids: Float64Array,
  at: number,
  u: number,
  v: number,
  z: number,
  du: number,
  dv: number,
  dz: number,
  entry: Entry,
): boolean {
  near = 0
  far = entry.distance
  face = -1
  const a = solids[at + 6]!
  const b = solids[at + 7]!
  const rise = solids[at + 9]!
  const ridge = solids[at + 8]! + rise
  if (!cut(-u - a, -du, 0) || !cut(u - a, du, 1) || !cut(-v - b, -dv, 2) || !cut(v - b, dv, 3)) return false
  const pitch = rise / b
  if (!cut(z + pitch * v - ridge, dz + pitch * dv, 4) || !cut(z - pitch * v - ridge, dz - pitch * dv, 5)) return false
  const hip = solids[at + 10]!
  if (hip > 0) {
    const slope = rise / hip
    const end = solids[at + 8]! + slope * a
    if (!cut(z + slope * u - end, dz + slope * du, 6) || !cut(z - slope * u - end, dz - slope * du, 7)) return false
  }
  if (!cut(-z, -dz, 8) || face < 0 || face === 8) return false
  entry.distance = near
  entry.face = face
  return true
}

function enterTree(
  solids: Float64Array,
  at: number,
  x: number,
  y: number,
  z: number,
  dx: number,
  dy: number,
  dz: number,
  entry: Entry,
): boolean {
  const across = 1 / solids[at + 6]!
  const upward = 1 / solids[at + 7]!
  const rx = x * across
  const ry = y * across
  const rz = (z - solids[at + 4]!) * upward
  const ex = dx * across
  const ey = dy * across
  const ez = dz * upward
  const A = ex * ex + ey * ey + ez * ez
  const B = rx * ex + ry * ey + rz * ez
  const C = rx * rx + ry * ry + rz * rz - 1
  const D = B * B - A * C
  if (D <= 0 || B >= 0) return false
  const t = (-B - Math.sqrt(D)) / A
  if (t <= 0 || t >= entry.distance) return false
  // Toward the rim the crown is ragged: the nearer to grazing, the more gaps.
  const rim = D / A
  if (rim < 0.5) {
    const px = Math.floor((rx + t * ex) * 9)
    const py = Math.floor((ry + t * ey) * 9)
    const pz = Math.floor((rz + t * ez) * 9)
    if (hash(px + 31 * pz, py, solids[at + 11]!) > rim * 2.2 + 0.1) return false
  }
  entry.distance = t
  entry.face = 8
  return true
}

const arches = [-15.5, 0, 15.5] as const
const ARCH_RADIUS = 6.6
const SPRINGING = -3.1

/** Top of the roadway by the distance from the middle. */
export const deckHeight = (u: number) => 4.2 - 3.4 * (u / 27) ** 2

const isOpening = (u: number, z: number) =>
  arches.some((m) => (u - m) ** 2 + (z - SPRINGING) ** 2 * 1.25 < ARCH_RADIUS ** 2)
const isStone = (u: number, z: number) => z < deckHeight(u) && !isOpening(u, z)

function enterBridge(
  a: number,
  b: number,
  u: number,
  v: number,
  z: number,
  du: number,
  dv: number,
  dz: number,
  entry: Entry,
): boolean {
  if (Math.abs(dv) < 1e-9) return false
  const side = dv > 0 ? -1 : 1
  const front = (side * b - v) / dv
  const back = (-side * b - v) / dv
  let from = Math.max(front, 0)
  if (back <= 0 || from >= entry.distance) return false
  const isInside = (t: number) => Math.abs(u + t * du) < a && isStone(u + t * du, z + t * dz)
  if (from === front && isInside(front)) {
    entry.distance = front
    entry.face = side < 0 ? 2 : 3
    return true
  }
  // Through the air beside or above: the first of 12 steps that ends in stone, made exact by halving.
  const step = (back - from) / 12
  for (let k = 0; k < 12; k++) {
    if (isInside(from + step)) {
      let low = from
      let high = from + step
      for (let i = 0; i < 8; i++) {
        const mid = (low + high) / 2
        if (isInside(mid)) high = mid
        else low = mid
      }
      if (high >= entry.distance) return false
      entry.distance = high
      entry.face = z + low * dz > deckHeight(u + low * du) - 0.05 ? 4 : 9
      return true
    }
    from += step
  }
  return false
}
