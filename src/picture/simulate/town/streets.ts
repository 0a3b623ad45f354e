import type { Random } from '#core/base'
import { isLane, isNear, isTaken, NORTH_END } from './ground-plan.ts'
import { type Colour, diode, type Lamp, scaled, sodium } from './lamp.ts'
import { fromBank } from './river.ts'
import type { House, Solid } from './solids.ts'

const walls: readonly Colour[] = [
  [0.5, 0.46, 0.38],
  [0.42, 0.34, 0.24],
  [0.34, 0.2, 0.13],
  [0.46, 0.4, 0.34],
  [0.56, 0.52, 0.46],
  [0.3, 0.27, 0.24],
  [0.5, 0.38, 0.28],
]
const roofs: readonly Colour[] = [
  [0.1, 0.105, 0.125],
  [0.13, 0.12, 0.125],
  [0.24, 0.095, 0.055],
  [0.19, 0.085, 0.055],
  [0.085, 0.09, 0.1],
  [0.15, 0.1, 0.075],
]

export const pick = <T>(list: readonly T[], random: Random): T => list[Math.floor(random.uniform() * list.length)]!
const tinted = (c: Colour, random: Random): Colour => {
  const k = 0.8 + 0.4 * random.uniform()
  return [c[0] * k, c[1] * k, c[2] * k]
}

/** A row of houses along the river, `off` metres from a bank. */
export function row(random: Random, side: -1 | 1, off: number, solids: Solid[]): void {
  let y = 26 + 6 * random.uniform()
  while (y < NORTH_END) {
    const length = 6 + 7 * random.uniform()
    const middle = y + length / 2
    y += length + (random.uniform() < 0.16 ? 2 + 5 * random.uniform() : 0.02)
    if (isLane(middle - length / 2) || isLane(middle + length / 2) || isLane(middle)) continue
    const p = fromBank(side, off, middle)
    // The town thins out toward its edges.
    const edge = Math.max((middle - 500) / 700, (off - 260) / 420, 0)
    if (!isNear(p.x, p.y) || isTaken(p.x, p.y) || random.uniform() < edge) continue
    const slope = p.slope
    const norm = Math.hypot(1, slope)
    // Most ridges follow the street; some houses turn their gable to it.
    const isTurned = random.uniform() < 0.2
    const depth = 3.9 + 1.3 * random.uniform()
    const half = length / 2 - 0.05
    const storeys = off < 70 ? 2 + Math.floor(random.uniform() * 2.2) : 1 + Math.floor(random.uniform() * 2.3)
    const along = { cos: slope / norm, sin: 1 / norm }
    const across = { cos: 1 / norm, sin: -slope / norm }
    const narrow = isTurned ? half : depth
    const house: House = {
      kind: 'house',
      use: off < 40 && random.uniform() < 0.45 ? 'shop' : 'home',
      x: p.x,
      y: p.y,
      base: 0,
      ...(isTurned ? across : along),
      a: isTurned ? depth : half,
      b: narrow,
      wallHeight: storeys * 2.75 + 0.5,
      rise: narrow * (0.75 + 0.4 * random.uniform()),
      hip: random.uniform() < 0.15 ? narrow : 0,
      wall: tinted(pick(walls, random), random),
      roof: tinted(pick(roofs, random), random),
      seed: Math.floor(random.uniform() * 1e6),
    }
    solids.push(house)
    if (random.uniform() < 0.75) solids.push(chimney(house, random))
  }
}

/** A box without windows. */
export const plain = { kind: 'house', use: 'plain', cos: 1, sin: 0, rise: 0, hip: 0, seed: 1 } as const

function chimney(h: House, random: Random): House {
  const u = (random.uniform() < 0.5 ? -1 : 1) * (h.a - 0.8) * (h.hip > 0 ? 0.3 : 1)
  return {
    ...plain,
    x: h.x + u * h.cos,
    y: h.y + u * h.sin,
    cos: h.cos,
    sin: h.sin,
    base: h.wallHeight + h.rise - 0.8,
    a: 0.45,
    b: 0.7,
    wallHeight: 2,
    wall: [0.26, 0.16, 0.11],
    roof: [0.12, 0.09, 0.07],
  }
}

export const post = (x: number, y: number, base: number, height: number): House => ({
  ...plain,
  use: 'post',
  x,
  y,
  base,
  a: 0.09,
  b: 0.09,
  wallHeight: height - 0.35,
  wall: [0.05, 0.05, 0.05],
  roof: [0.05, 0.05, 0.05],
})

/** Lamps along street number `index` of a bank, `off` metres from it; number 0 is the quay. */
export function streetLamps(
  random: Random,
  side: -1 | 1,
  off: number,
  index: number,
  solids: Solid[],
  lamps: Lamp[],
): void {
  const isQuay = index === 0
  const step = isQuay ? 21 : 29
  for (let y = 30 + step * random.uniform(); y < NORTH_END; y += step) {
    const p = fromBank(side, isQuay ? off - 3.5 : off + (random.uniform() < 0.5 ? 2.8 : -2.8), y)
    const edge = Math.max((y - 600) / 600, (off - 300) / 400, 0)
    if (!isNear(p.x, p.y) || isTaken(p.x, p.y) || random.uniform() < edge) continue
    const colour = isQuay ? diode : random.uniform() < 0.8 ? sodium : diode
    const height = isQuay ? 5 : 6.5
    lamps.push({
      x: p.x - side * 0.7,
      y: p.y,
      z: height,
      power: scaled(colour, (isQuay ? 30 : 58) * (0.8 + 0.4 * random.uniform())),
      isShaded: true,
    })
    solids.push(post(p.x, p.y, 0, height))
  }
}
