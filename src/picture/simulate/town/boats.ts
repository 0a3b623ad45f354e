import type { Random } from '#core/base'
import { type Colour, type Lamp, scaled, warm } from './lamp.ts'
import { fromBank, LOWER_LEVEL, UPPER_LEVEL } from './river.ts'
import type { Solid } from './solids.ts'
import { pick, plain } from './streets.ts'

/** Boats at their moorings; half of them show a light. */
export function boats(random: Random, solids: Solid[], lamps: Lamp[]): void {
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
