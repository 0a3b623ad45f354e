import type { Random } from '#core/base'
import { isNear, isTaken, NORTH_END, roads } from './ground-plan.ts'
import type { Colour } from './lamp.ts'
import { fromBank, isWater, lock, midstream, offBank } from './river.ts'
import type { Solid } from './solids.ts'

/** Trees on the quays, in the meadow and the gardens, and woods where the houses end. */
export function trees(random: Random, solids: Solid[]): void {
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
