import { type Coordinates, checkCoordinates, offsetOf } from './geodesic.ts'
import { height, within } from './range.ts'

/** Something to stay clear of. Height of its top in metres above take-off. */
export interface Obstacle {
  readonly name: string
  /** Null = it is not known where it stands, and then it stands in every way. */
  readonly position: Coordinates | null
  readonly heightMetres: number
  /** How wrong the height may be; it is added. */
  readonly errorMetres: number
  /** From its middle to its outside: a wire's span, a crown, a crane's jib. */
  readonly radiusMetres: number
  /** Who says so: a chart, a recon photograph, an estimate. */
  readonly source: string
}

/** How far beside a line an obstacle still counts: satellite fixes wander by metres, and gusts push. An assumption. */
export const CORRIDOR_HALF_WIDTH_METRES = 25

/** An obstacle against one straight line over ground. */
export interface Beside {
  readonly obstacle: Obstacle
  /** Along the line, from its start, where the obstacle is nearest; null when it is not known where it stands. */
  readonly alongMetres: number | null
  /** From the line to the obstacle's outside; 0 when the line goes over it. */
  readonly besideMetres: number | null
  /** Height of the top with its error. */
  readonly topMetres: number
}

export function checkObstacle(obstacle: Obstacle): Obstacle {
  if (obstacle.position !== null) checkCoordinates(obstacle.position)
  height('obstacleHeightMetres', obstacle.heightMetres)
  within('obstacleErrorMetres', obstacle.errorMetres, 0, 1000)
  within('obstacleRadiusMetres', obstacle.radiusMetres, 0, 100_000)
  return obstacle
}

/**
 * The obstacles within the corridor of a line (of no length, too), nearest its start first. Places become metres east and north of the
 * line's end: true to 2 parts in a million within 20 km.
 */
export function obstaclesBeside(
  from: Coordinates,
  to: Coordinates,
  obstacles: readonly Obstacle[],
  halfWidthMetres = CORRIDOR_HALF_WIDTH_METRES,
): Beside[] {
  within('corridorHalfWidthMetres', halfWidthMetres, 0, 10_000)
  const a = offsetOf(to, from)
  const length = Math.hypot(a.eastMetres, a.northMetres)
  const beside = obstacles.map(checkObstacle).flatMap((obstacle): Beside[] => {
    const topMetres = obstacle.heightMetres + obstacle.errorMetres
    if (obstacle.position === null) return [{ obstacle, alongMetres: null, besideMetres: null, topMetres }]
    const p = offsetOf(to, obstacle.position)
    const east = p.eastMetres - a.eastMetres
    const north = p.northMetres - a.northMetres
    const raw = length === 0 ? 0 : -(east * a.eastMetres + north * a.northMetres) / length
    const along = Math.min(Math.max(raw, 0), length)
    const part = length === 0 ? 0 : along / length
    const apart = Math.hypot(east + part * a.eastMetres, north + part * a.northMetres) - obstacle.radiusMetres
    if (apart > halfWidthMetres) return []
    return [{ obstacle, alongMetres: along, besideMetres: Math.max(apart, 0), topMetres }]
  })
  return beside.sort((x, y) => (x.alongMetres ?? -1) - (y.alongMetres ?? -1))
}
