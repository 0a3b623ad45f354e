import { wayBetween } from './geodesic.ts'
import type { Spot } from './legs.ts'
import { type Beside, CORRIDOR_HALF_WIDTH_METRES, type Obstacle, obstaclesBeside } from './obstacles.ts'
import { height } from './range.ts'
import { CEILING_METRES, type ClearanceRules, MARGIN_METRES } from './return-height.ts'

/** An obstacle under or beside one leg. Clearance in metres from its top to the aircraft; negative: the way leads into it. */
export interface ObstacleClearance extends Beside {
  readonly clearanceMetres: number
  readonly enough: boolean
}

/** One leg from the side, for a drawing and for the card. */
export interface LegProfile {
  readonly fromName: string
  readonly toName: string
  readonly lengthMetres: number
  /** The way flown, as distance over ground and height: up, across, down. */
  readonly path: readonly { readonly alongMetres: number; readonly heightMetres: number }[]
  readonly cruiseHeightMetres: number
  readonly obstacles: readonly ObstacleClearance[]
  readonly leastClearanceMetres: number | null
  readonly marginMetres: number
  readonly ceilingMetres: number
  /** What is wrong with the leg, or nothing. */
  readonly problem: 'obstacle-too-close' | 'above-ceiling' | null
}

export interface NamedSpot extends Spot {
  readonly name: string
}

/**
 * The clearance of one leg that is flown straight up, level at its higher end (at least `atLeastMetres`: the return height on the
 * way home), straight down. An obstacle within the corridor of either end is measured against that end's own height too when
 * the aircraft hangs there; at take-off and home (height 0) only the level part counts, since one stands beside it and looks.
 */
export function legProfile(
  from: NamedSpot,
  to: NamedSpot,
  obstacles: readonly Obstacle[],
  rules: ClearanceRules = {},
  atLeastMetres = Number.NEGATIVE_INFINITY,
): LegProfile {
  height('heightMetres', from.heightMetres)
  height('heightMetres', to.heightMetres)
  const width = rules.corridorHalfWidthMetres ?? CORRIDOR_HALF_WIDTH_METRES
  const marginMetres = rules.marginMetres ?? MARGIN_METRES
  const ceilingMetres = rules.ceilingMetres ?? CEILING_METRES
  const length = wayBetween(from.position, to.position).distanceMetres
  const cruise = Math.max(from.heightMetres, to.heightMetres, atLeastMetres)
  const reach = (o: Obstacle) => width + o.radiusMetres
  const lowestOver = (b: Beside): number => {
    const hung = [from, to].filter(
      (end) =>
        end.heightMetres > 0 &&
        (b.obstacle.position === null ||
          wayBetween(end.position, b.obstacle.position).distanceMetres <= reach(b.obstacle)),
    )
    return Math.min(cruise, ...hung.map((end) => end.heightMetres))
  }
  const measured = obstaclesBeside(from.position, to.position, obstacles, width).map((b): ObstacleClearance => {
    const clearanceMetres = lowestOver(b) - b.topMetres
    return { ...b, clearanceMetres, enough: clearanceMetres >= marginMetres }
  })
  const least = measured.length === 0 ? null : Math.min(...measured.map((o) => o.clearanceMetres))
  const close = measured.some((o) => !o.enough)
  return {
    fromName: from.name,
    toName: to.name,
    lengthMetres: length,
    path: [
      { alongMetres: 0, heightMetres: from.heightMetres },
      { alongMetres: 0, heightMetres: cruise },
      { alongMetres: length, heightMetres: cruise },
      { alongMetres: length, heightMetres: to.heightMetres },
    ],
    cruiseHeightMetres: cruise,
    obstacles: measured,
    leastClearanceMetres: least,
    marginMetres,
    ceilingMetres,
    problem: close ? 'obstacle-too-close' : cruise > ceilingMetres ? 'above-ceiling' : null,
  }
}
