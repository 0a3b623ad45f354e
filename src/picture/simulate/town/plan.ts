import { type Random, seededRandom } from '#core/base'
import {
  fromBank,
  isWater,
  LOWER_LEVEL,
  lock,
  midstream,
  midstreamSlope,
  offBank,
  sideOf,
  UPPER_LEVEL,
} from './river.ts'
import type { House, Solid } from './solids.ts'

/** A street lamp or a floodlight. */
export interface Lamp {
  readonly x: number
  readonly y: number
  readonly z: number
  /** Linear sRGB, as the radiance of a white surface facing it at 1 m. */
  readonly power: readonly [number, number, number]
  /** Street lamps light downward only; floodlights and windows light all round. */
  readonly isShaded: boolean
}

export interface TownPlan {
  readonly solids: readonly Solid[]
  readonly lamps: readonly Lamp[]
}

type Colour = readonly [number, number, number]

/** High-pressure sodium and 4000 K light-emitting diodes, as linear sRGB of equal luminance. */
const sodium: Colour = [1.62, 0.86, 0.12]
const diode: Colour = [1.2, 0.97, 0.62]
const warm: Colour = [1.4, 0.9, 0.42]

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

/** Roads run along the river at these distances from the banks. */
export const roads = {
  left: [12, 50, 92, 136, 182, 230, 280, 335, 395, 460, 530],
  right: [25, 66, 108, 152, 198, 246, 298, 355, 415, 480, 550],
} as const

const NORTH_END = 1150

/** Lanes down to the river, north; the same on both banks. */
export const isLane = (y: number) => {
  const at = (((y - 20) % 74) + 74) % 74
  return at < 7
}

const pick = <T>(list: readonly T[], random: Random): T => list[Math.floor(random.uniform() * list.length)]!
const tinted = (c: Colour, random: Random): Colour => {
  const k = 0.8 + 0.4 * random.uniform()
  return [c[0] * k, c[1] * k, c[2] * k]
}

/** Inside what the camera can ever see, with room for shadows and turns. */
const isNear = (x: number, y: number) => y > 20 && Math.abs(x) < 120 + y * 0.95

/** Ground that special buildings take. */
const isTaken = (x: number, y: number) =>
  (sideOf(x, y) < 0 && offBank(x, y) < 32 && y > 164 && y < 214) ||
  Math.hypot(x - church.x, y - church.y) < 38 ||
  (Math.abs(y - bridgeNorth) < 9 && offBank(x, y) < 22)

const bridgeNorth = 372
export const church = (() => {
  const p = fromBank(1, 86, 318)
  return { x: p.x, y: p.y + 6 }
})()

function row(random: Random, side: -1 | 1, off: number, solids: Solid[]): void {
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

const plain = { kind: 'house', use: 'plain', cos: 1, sin: 0, rise: 0, hip: 0, seed: 1 } as const

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

function landmarks(solids: Solid[], lamps: Lamp[]): void {
  // The mill: two wings of many windows at the weir's left end.
  const millAt = fromBank(-1, 5.4, 190)
  const n = Math.hypot(1, millAt.slope)
  const along = { cos: millAt.slope / n, sin: 1 / n }
  const stone: Colour = [0.4, 0.3, 0.21]
  const slate: Colour = [0.1, 0.105, 0.12]
  solids.push(
    {
      kind: 'house',
      use: 'mill',
      x: millAt.x,
      y: 190,
      base: -3.2,
      ...along,
      a: 17,
      b: 6.2,
      wallHeight: 17.5,
      rise: 5.6,
      hip: 0,
      wall: stone,
      roof: slate,
      seed: 91,
    },
    {
      kind: 'house',
      use: 'mill',
      x: millAt.x - 12,
      y: 202,
      base: 0,
      cos: 1 / n,
      sin: -millAt.slope / n,
      a: 10,
      b: 5.4,
      wallHeight: 10.5,
      rise: 5,
      hip: 0,
      wall: [0.44, 0.34, 0.25],
      roof: [0.2, 0.09, 0.06],
      seed: 92,
    },
    {
      ...plain,
      x: millAt.x - 19,
      y: 196,
      base: 0,
      a: 1.2,
      b: 1.2,
      wallHeight: 25,
      wall: [0.3, 0.15, 0.1],
      roof: [0.1, 0.08, 0.07],
    },
  )
  for (const along of [-11, 0, 11]) {
    const wallAt = fromBank(-1, -1.6, 190 + along)
    lamps.push({ x: wallAt.x, y: wallAt.y, z: 3.6, power: scaled(warm, 26), isShaded: true })
  }
  // The church: nave, aisle roofs and a tower with a spire.
  const { x, y } = church
  const pale: Colour = [0.5, 0.45, 0.36]
  solids.push(
    {
      kind: 'house',
      use: 'church',
      x: x + 13,
      y,
      base: 0,
      cos: 1,
      sin: 0,
      a: 15,
      b: 5.5,
      wallHeight: 9,
      rise: 6.5,
      hip: 0,
      wall: pale,
      roof: slate,
      seed: 93,
    },
    {
      kind: 'house',
      use: 'church',
      x: x + 13,
      y: y - 7,
      base: 0,
      cos: 1,
      sin: 0,
      a: 13,
      b: 2.6,
      wallHeight: 5,
      rise: 2.2,
      hip: 0,
      wall: pale,
      roof: slate,
      seed: 94,
    },
    {
      kind: 'house',
      use: 'church',
      x: x - 5,
      y,
      base: 0,
      cos: 1,
      sin: 0,
      a: 3.6,
      b: 3.6,
      wallHeight: 23,
      rise: 21,
      hip: 3.6,
      wall: pale,
      roof: [0.11, 0.13, 0.125],
      seed: 95,
    },
  )
  for (const [fx, fy] of [
    [-11, -7],
    [-12, 4],
    [4, -17],
    [20, -17],
  ] as const) {
    lamps.push({ x: x + fx, y: y + fy, z: 0.6, power: [46, 32, 15], isShaded: false })
  }
  // The bridge, its lamps, and the lock's gates and hut.
  const slope = midstreamSlope(bridgeNorth)
  const m = Math.hypot(1, slope)
  const across = { cos: 1 / m, sin: -slope / m }
  solids.push({
    kind: 'bridge',
    x: midstream(bridgeNorth),
    y: bridgeNorth,
    base: 0,
    ...across,
    a: 29,
    b: 4.2,
    seed: 96,
  })
  for (const u of [-20, -7, 7, 20]) {
    const v = u > 0 ? 3.6 : -3.6
    const px = midstream(bridgeNorth) + u * across.cos - v * across.sin
    const py = bridgeNorth + u * across.sin + v * across.cos
    lamps.push({ x: px, y: py, z: 8, power: scaled(warm, 75), isShaded: true })
    solids.push(post(px, py, 3.5, 4.5))
  }
  for (const gate of [lock.lowerGate, lock.upperGate]) {
    for (const hand of [-1, 1]) {
      const middle = fromBank(1, (lock.near + lock.far) / 2 + hand * 1.95, gate)
      const turn = -hand * 0.32 - middle.slope
      solids.push({
        ...plain,
        x: middle.x,
        y: gate + 0.2,
        base: -3.6,
        cos: Math.cos(turn),
        sin: Math.sin(turn),
        a: 2.2,
        b: 0.28,
        wallHeight: 4.3,
        wall: [0.07, 0.06, 0.05],
        roof: [0.3, 0.3, 0.28],
      })
      // The balance beam with its white end.
      const beam = fromBank(1, (lock.near + lock.far) / 2 + hand * 6, gate)
      solids.push({
        ...plain,
        x: beam.x,
        y: gate + 0.7,
        base: 0.75,
        cos: Math.cos(turn),
        sin: Math.sin(turn),
        a: 2.6,
        b: 0.22,
        wallHeight: 0.4,
        wall: [0.5, 0.5, 0.48],
        roof: [0.6, 0.6, 0.58],
      })
    }
  }
  const hut = fromBank(1, 19.5, 184)
  solids.push({
    kind: 'house',
    use: 'home',
    x: hut.x,
    y: hut.y,
    base: 0,
    cos: hut.slope,
    sin: 1,
    a: 4,
    b: 2.8,
    wallHeight: 3.2,
    rise: 2.2,
    hip: 2.8,
    wall: [0.58, 0.56, 0.5],
    roof: slate,
    seed: 97,
  })
  for (const [y0, off] of [
    [150, 6],
    [178, 4],
    [205, 6],
    [150, 18],
    [205, 18],
  ] as const) {
    const p = fromBank(1, off, y0)
    lamps.push({ x: p.x, y: p.y, z: 4.2, power: scaled(diode, 24), isShaded: true })
    solids.push(post(p.x, p.y, 0, 4.2))
  }
}

const scaled = (c: Colour, k: number): Colour => [c[0] * k, c[1] * k, c[2] * k]

const post = (x: number, y: number, base: number, height: number): House => ({
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

function streetLamps(random: Random, side: -1 | 1, off: number, index: number, solids: Solid[], lamps: Lamp[]): void {
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

function trees(random: Random, solids: Solid[]): void {
  const plant = (x: number, y: number, size: number) => {
    if (!isNear(x, y) || isWater(x, y) || isTaken(x, y)) return
    const a = size * (0.8 + 0.4 * random.uniform())
    const tone = 0.6 + 0.6 * random.uniform()
    const autumn = random.uniform()
    const leaf: Colour =
      autumn < 0.25 ? [0.2 * tone, 0.12 * tone, 0.03 * tone] : [0.055 * tone, 0.085 * tone, 0.03 * tone]
    const seed = Math.floor(random.uniform() * 1000)
    solids.push({
      kind: 'tree',
      x,
      y,
      base: 0,
      middle: a * 1.35 + 1,
      a,
      b: a * (1.05 + 0.3 * random.uniform()),
      leaf,
      seed,
    })
    // A second and third clump make the crown less round.
    for (let i = 0; i < 4; i++) {
      const turn = 2 * Math.PI * random.uniform()
      const c = a * (0.42 + 0.25 * random.uniform())
      solids.push({
        kind: 'tree',
        x: x + Math.cos(turn) * a * 0.75,
        y: y + Math.sin(turn) * a * 0.75,
        base: 0,
        middle: a * (0.9 + 1.0 * random.uniform()) + 1,
        a: c,
        b: c,
        leaf,
        seed: seed + i + 1,
      })
    }
  }
  for (const side of [-1, 1] as const) {
    // Along the quays, wide apart.
    for (let y = 40; y < 900; y += 17 + 9 * random.uniform()) {
      const p = fromBank(side, side < 0 ? 4.2 : 20.5, y)
      if (random.uniform() < 0.55) plant(p.x, p.y, 2.4)
      // The meadow between the lock and the town.
      if (side > 0) {
        const q = fromBank(1, 2.5 + 15 * random.uniform(), y + 6)
        if (y < lock.south - 6 || y > lock.north + 4) plant(q.x, q.y, 1.6 + 1.6 * random.uniform())
      }
    }
    // In the gardens between the rows.
    const lines = side < 0 ? roads.left : roads.right
    lines.forEach((off, i) => {
      const between = ((lines[i + 1] ?? off + 60) + off) / 2
      for (let y = 30; y < NORTH_END; y += 7 + 12 * random.uniform()) {
        const p = fromBank(side, between + 6 * (random.uniform() - 0.5), y)
        if (random.uniform() < 0.62) plant(p.x, p.y, 1.5 + 2 * random.uniform())
      }
    })
  }
  // Woods where the houses end.
  for (let i = 0; i < 2200; i++) {
    const y = 200 + 1000 * random.uniform()
    const x = (random.uniform() * 2 - 1) * (140 + y * 0.75)
    const edge = Math.max((y - 560) / 640, (offBank(x, y) - 300) / 200)
    if (random.uniform() < edge * 1.3 || (y > 1075 && Math.abs(x - midstream(1080)) < 60))
      plant(x, y, 3.5 + 2.5 * random.uniform())
  }
}

function boats(random: Random, solids: Solid[], lamps: Lamp[]): void {
  for (const [side, off, y, length] of [
    [1, -2.6, 96, 8],
    [1, -2.6, 78, 7],
    [-1, -2.4, 128, 7.5],
    [-1, -2.4, 110, 6],
    [-1, -2.5, 246, 8],
    [-1, -2.5, 268, 7],
    [1, -2.5, 262, 7.5],
    [1, 11.7, 176, 8],
    [-1, -2.5, 300, 6],
    [1, -2.5, 292, 8],
  ] as const) {
    const p = fromBank(side, off, y)
    const level = p.y > 186 || off > 0 ? UPPER_LEVEL : LOWER_LEVEL
    const n = Math.hypot(1, p.slope)
    const direction = { cos: p.slope / n, sin: 1 / n }
    const paint = pick<Colour>(
      [
        [0.05, 0.12, 0.08],
        [0.2, 0.04, 0.03],
        [0.04, 0.06, 0.14],
        [0.3, 0.28, 0.24],
      ],
      random,
    )
    const seed = Math.floor(random.uniform() * 1000)
    solids.push({
      ...plain,
      x: p.x,
      y: p.y,
      base: level - 0.3,
      ...direction,
      a: length,
      b: 1.05,
      wallHeight: 0.95,
      rise: 0.05,
      hip: 0.4,
      wall: [0.05, 0.05, 0.055],
      roof: [0.16, 0.13, 0.1],
      seed,
    })
    solids.push({
      kind: 'house',
      use: 'boat',
      x: p.x,
      y: p.y,
      base: level + 0.6,
      ...direction,
      a: length * 0.68,
      b: 0.85,
      wallHeight: 1.1,
      rise: 0.18,
      hip: 0,
      wall: paint,
      roof: [0.2, 0.2, 0.2],
      seed,
    })
    if (random.uniform() < 0.5)
      lamps.push({ x: p.x, y: p.y + length * 0.8, z: level + 2, power: scaled(warm, 3), isShaded: false })
  }
}

/** The whole town: the same seed gives the same town on every machine. */
export function planTown(seed: number): TownPlan {
  const random = seededRandom(seed)
  const solids: Solid[] = []
  const lamps: Lamp[] = []
  landmarks(solids, lamps)
  for (const side of [-1, 1] as const) {
    const lines = side < 0 ? roads.left : roads.right
    lines.forEach((off, i) => {
      // Houses stand on the land side of the quay, and on both sides of every other street.
      row(random, side, off + 11, solids)
      if (i > 0) row(random, side, off - 11, solids)
      streetLamps(random, side, off, i, solids, lamps)
    })
  }
  trees(random, solids)
  boats(random, solids, lamps)
  return { solids, lamps }
}
