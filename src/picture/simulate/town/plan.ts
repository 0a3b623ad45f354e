import { seededRandom } from '#core/base'
import { boats } from './boats.ts'
import { trees } from './greenery.ts'
import { roads } from './ground-plan.ts'
import type { Lamp } from './lamp.ts'
import { landmarks } from './landmarks.ts'
import type { Solid } from './solids.ts'
import { row, streetLamps } from './streets.ts'

export interface TownPlan {
  readonly solids: readonly Solid[]
  readonly lamps: readonly Lamp[]
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
