import { bridgeNorth, church } from './ground-plan.ts'
import { type Colour, diode, type Lamp, scaled, warm } from './lamp.ts'
import { fromBank, lock, midstream, midstreamSlope } from './river.ts'
import type { Solid } from './solids.ts'
import { plain, post } from './streets.ts'

const slate: Colour = [0.1, 0.105, 0.12]

/** The mill: two wings of many windows at the weir's left end, its stack and its lamps. */
function mill(solids: Solid[], lamps: Lamp[]): void {
  const millAt = fromBank(-1, 5.4, 190)
  const n = Math.hypot(1, millAt.slope)
  const along = { cos: millAt.slope / n, sin: 1 / n }
  const stone: Colour = [0.4, 0.3, 0.21]
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
}

/** The church: nave, aisle and a tower with a spire, floodlit. */
function churchOnTheRise(solids: Solid[], lamps: Lamp[]): void {
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
}

function bridge(solids: Solid[], lamps: Lamp[]): void {
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
}

/** The lock: two pairs of gates with their beams, the keeper's house, lamps. */
function lockWorks(solids: Solid[], lamps: Lamp[]): void {
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
  const hutNorm = Math.hypot(1, hut.slope)
  solids.push({
    kind: 'house',
    use: 'home',
    x: hut.x,
    y: hut.y,
    base: 0,
    cos: hut.slope / hutNorm,
    sin: 1 / hutNorm,
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

export function landmarks(solids: Solid[], lamps: Lamp[]): void {
  mill(solids, lamps)
  churchOnTheRise(solids, lamps)
  bridge(solids, lamps)
  lockWorks(solids, lamps)
}
