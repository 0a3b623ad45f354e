import { clamp, ease, hash, noise2 } from './noise.ts'
import type { House } from './solids.ts'

/** What a facade shows at a place: the colour that it reflects and the light that it gives. */
export interface Paint {
  readonly albedo: Float64Array
  readonly glow: Float64Array
  /** Share of mirror-like reflection: panes and wet slate. */
  gloss: number
}

/** Shares of windows with light, heights of a storey, sizes of a pane by use. */
const habits = {
  home: { lit: 0.34, storey: 2.75, bay: 2.5, paneWidth: 1.05, paneHeight: 1.45, sill: 0.95 },
  shop: { lit: 0.42, storey: 2.75, bay: 2.5, paneWidth: 1.05, paneHeight: 1.45, sill: 0.95 },
  mill: { lit: 0.62, storey: 3.35, bay: 2.6, paneWidth: 1.15, paneHeight: 1.75, sill: 1.0 },
  church: { lit: 1, storey: 7.2, bay: 3.6, paneWidth: 0.85, paneHeight: 3.6, sill: 2.2 },
  boat: { lit: 0.5, storey: 3, bay: 1.9, paneWidth: 0.75, paneHeight: 0.5, sill: 0.35 },
  post: { lit: 0, storey: 3, bay: 3, paneWidth: 0, paneHeight: 0, sill: 0 },
  plain: { lit: 0, storey: 3, bay: 3, paneWidth: 0, paneHeight: 0, sill: 0 },
} as const

function glowOf(use: House['use'], key: number, seed: number, out: Float64Array): void {
  const tone = hash(key, 3, seed)
  const size = use === 'church' ? 0.5 : 0.32 * 6 ** hash(key, 4, seed) * (use === 'mill' ? 1.25 : 1)
  if (tone < 0.62) out.set([1.45 * size, 0.86 * size, 0.33 * size])
  else if (tone < 0.94) out.set([1.25 * size, 0.97 * size, 0.62 * size])
  else out.set([0.5 * size, 0.66 * size, 0.95 * size])
}

/**
 * A wall at `along` metres from its left end (of `width`), `up` metres above its foot. `grain` is the size of a pixel
 * there, in metres: detail finer than it fades.
 */
export function paintWall(
  h: House,
  face: number,
  along: number,
  width: number,
  up: number,
  grain: number,
  paint: Paint,
): void {
  const { albedo, glow } = paint
  const habit = habits[h.use]
  glow.fill(0)
  paint.gloss = 0.02
  const fine = ease(0.5, 0.12, grain)
  const stain =
    0.84 + 0.32 * noise2(along * 0.7 + h.seed, up * 0.5, 21) + fine * 0.16 * (noise2(along * 6, up * 9, 22) - 0.5)
  const foot = 0.72 + 0.28 * ease(0, 1.4, up)
  for (let c = 0; c < 3; c++) albedo[c] = h.wall[c]! * stain * foot
  if (h.use === 'plain' || h.use === 'post') return
  const isGableTop = up > h.wallHeight
  const storey = isGableTop ? 9 : Math.floor(up / habit.storey)
  const lastWhole = Math.floor((h.wallHeight - 0.3) / habit.storey)
  if (!isGableTop && h.use === 'home' && h.seed % 4 === 0 && storey >= 1) timber(along, up, width, grain, albedo)
  if (!isGableTop && storey >= lastWhole) {
    courses(up, grain, albedo)
    return
  }
  // The gable's own small window; the storeys' bays; a shop's wide panes at street level.
  const bays = isGableTop ? 1 : Math.max(1, Math.floor(width / habit.bay))
  const bay = Math.floor((along / width) * bays)
  const fromMiddle = Math.abs(along - ((bay + 0.5) * width) / bays)
  const isShopFront = h.use === 'shop' && storey === 0 && face >= 2
  const paneWidth = isShopFront ? (width / bays) * 0.84 : isGableTop ? 0.7 : habit.paneWidth
  const paneHeight = isShopFront ? 1.95 : isGableTop ? 0.9 : habit.paneHeight
  const sill = isShopFront ? 0.45 : isGableTop ? h.wallHeight + 0.5 : storey * habit.storey + habit.sill
  const height = up - sill
  const inPane = fromMiddle < paneWidth / 2 && height > 0 && height < paneHeight
  const inFrame = fromMiddle < paneWidth / 2 + 0.12 && height > -0.14 && height < paneHeight + 0.12
  if (isGableTop && h.use === 'church') return
  if (!inFrame) {
    if (h.use === 'home' && storey === 0 && face >= 2 && bay === Math.floor(bays / 2) && fromMiddle < 0.5 && up < 2.1) {
      const colour = hash(h.seed, 5, 6)
      albedo.set([0.08 + 0.16 * colour, 0.07 + 0.05 * colour, 0.09 - 0.05 * colour])
    } else courses(up, grain, albedo)
    return
  }
  if (!inPane) {
    for (let c = 0; c < 3; c++) albedo[c] = 0.5 * albedo[c]! + 0.2
    return
  }
  const key = bay + 31 * storey + 977 * face
  albedo.fill(0.025)
  paint.gloss = 0.16
  const lit = isShopFront ? 0.85 : isGableTop ? 0.2 : habit.lit
  const bars =
    ease(0.3, 0.1, grain) *
    (ease(0.07, 0.04, fromMiddle % (paneWidth / (isShopFront ? 3 : 1))) +
      ease(0.05, 0.03, Math.abs(height - paneHeight * 0.58)))
  if (hash(key, 1, h.seed) < lit) {
    glowOf(h.use, key, h.seed, glow)
    const u = fromMiddle / paneWidth
    const v = height / paneHeight
    // A lamp inside, curtains at the sides, the room's far wall mottled.
    const curtain = hash(key, 7, h.seed) < 0.6 ? 1 - 0.55 * ease(0.22, 0.42, u) : 1
    const room = (0.75 + 0.5 * noise2(along * 3.1 + key, up * 3.3, 23)) * (0.7 + 0.45 * v) * curtain
    for (let c = 0; c < 3; c++) glow[c]! *= room * (1 - 0.85 * clamp(bars, 0, 1))
  }
  if (bars > 0.5) albedo.fill(0.3)
}

/** Courses of brick or stone: a darker joint every 0.3 m, where a pixel can show it. */
function courses(up: number, grain: number, albedo: Float64Array): void {
  const show = ease(0.14, 0.05, grain)
  if (show === 0) return
  const joint = (up / 0.3) % 1 < 0.16 ? 1 - 0.22 * show : 1
  for (let c = 0; c < 3; c++) albedo[c]! *= joint
}

/** Half-timbering: posts, rails and a brace in each panel. */
function timber(along: number, up: number, width: number, grain: number, albedo: Float64Array): void {
  const panel = width / Math.max(2, Math.round(width / 1.25))
  const a = along % panel
  const b = up % 2.75
  const brace = Math.abs(a - panel * (b / 2.75)) < 0.08 && Math.floor(along / panel) % 2 === 0
  if (a < 0.16 || b < 0.2 || brace) {
    const share = 0.85 * ease(0.7, 0.2, grain)
    for (let c = 0; c < 3; c++) albedo[c]! += ([0.05, 0.035, 0.025][c]! - albedo[c]!) * share
  }
}

/** A roof at `along` metres on its ridge direction and `down` metres down the slope. */
export function paintRoof(h: House, along: number, down: number, grain: number, paint: Paint): void {
  const { albedo, glow } = paint
  glow.fill(0)
  const weather = 0.72 + 0.56 * noise2(along * 0.45 + h.seed, down * 0.6, 31)
  for (let c = 0; c < 3; c++) albedo[c] = h.roof[c]! * weather
  paint.gloss = h.use === 'plain' ? 0.02 : 0.07
  const show = ease(0.26, 0.08, grain)
  if (show > 0 && h.use !== 'plain') {
    const course = Math.floor(down / 0.34)
    const tile = Math.floor(along / 0.3 + (course % 2) * 0.5)
    const tone = 1 + show * (0.42 * (hash(tile, course, h.seed) - 0.5) - ((down / 0.34) % 1 > 0.8 ? 0.35 : 0))
    for (let c = 0; c < 3; c++) albedo[c]! *= tone
  }
  if (h.use !== 'home') return
  // Here and there a window in the slope.
  const bay = Math.floor(along / 2.6)
  const inBay = along - bay * 2.6
  if (down > 1.3 && down < 2.3 && inBay > 0.9 && inBay < 1.7 && hash(bay, 8, h.seed) < 0.14) {
    albedo.fill(0.03)
    paint.gloss = 0.2
    if (hash(bay, 9, h.seed) < 0.6) glowOf('home', bay + 5000, h.seed, glow)
  }
}
