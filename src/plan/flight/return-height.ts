import type { Coordinates } from './geodesic.ts'
import { CORRIDOR_HALF_WIDTH_METRES, type Obstacle, obstaclesBeside } from './obstacles.ts'
import { within } from './range.ts'

/** Kept over the highest top: the air's pressure misleads the height by two metres and more in gusts. Common practice: 10 to 20 m. */
export const MARGIN_METRES = 15

/** Never lower than this on the way home, for the trees and lamps that nobody listed. An assumption. */
export const LOWEST_RETURN_METRES = 30

/** 120 m (400 ft) over ground is a common limit; another may hold: check your local rules. */
export const CEILING_METRES = 120

export interface ClearanceRules {
  readonly marginMetres?: number
  readonly lowestMetres?: number
  readonly ceilingMetres?: number
  readonly corridorHalfWidthMetres?: number
}

export type ReturnHeight =
  | {
      readonly can: true
      readonly heightMetres: number
      /** The obstacle that decides; null when none stands in the way and the lowest return height holds. */
      readonly over: Obstacle | null
      readonly marginMetres: number
      readonly ceilingMetres: number
    }
  | {
      readonly can: false
      readonly why: 'obstacle-above-ceiling'
      /** What clearing it would take. */
      readonly neededMetres: number
      readonly over: Obstacle
      readonly marginMetres: number
      readonly ceilingMetres: number
    }

/**
 * The one height to set for the way home from any of these places: highest top in any of the corridors, with its error, plus the margin;
 * at least the lowest height. When that is over the ceiling there is no height to set, and a height is not made up.
 */
export function returnHeight(
  from: readonly Coordinates[],
  home: Coordinates,
  obstacles: readonly Obstacle[],
  rules: ClearanceRules = {},
): ReturnHeight {
  const marginMetres = within('marginMetres', rules.marginMetres ?? MARGIN_METRES, 0, 1000)
  const ceilingMetres = within('ceilingMetres', rules.ceilingMetres ?? CEILING_METRES, 1, 10_000)
  const lowest = Math.min(within('lowestMetres', rules.lowestMetres ?? LOWEST_RETURN_METRES, 0, 1000), ceilingMetres)
  const width = rules.corridorHalfWidthMetres ?? CORRIDOR_HALF_WIDTH_METRES
  let over: Obstacle | null = null
  let top = Number.NEGATIVE_INFINITY
  for (const place of from)
    for (const beside of obstaclesBeside(place, home, obstacles, width))
      if (beside.topMetres > top) {
        top = beside.topMetres
        over = beside.obstacle
      }
  const needed = top + marginMetres
  const common = { marginMetres, ceilingMetres }
  if (over !== null && needed > ceilingMetres)
    return { can: false, why: 'obstacle-above-ceiling', neededMetres: needed, over, ...common }
  if (over === null || needed < lowest) return { can: true, heightMetres: lowest, over: null, ...common }
  return { can: true, heightMetres: needed, over, ...common }
}
