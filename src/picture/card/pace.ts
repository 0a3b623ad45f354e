import type { Placed } from './order.ts'

/** A camera writes a raw file in a second or so before it takes the next frame of a bracket. */
const WRITE_SECONDS = 1

/**
 * Seconds between two frames that neither the shutter, nor the writing, nor the clock's coarseness explains; ≥ 0. Null
 * when either has no time. The clock is read at the start or the end of an exposure, cameras differ: the longer of the
 * two exposure times is allowed for.
 */
export function pauseSeconds(from: Placed, to: Placed): number | null {
  if (from.seconds === null || to.seconds === null) return null
  const shutter = Math.max(from.frame.facts.exposureSeconds ?? 0, to.frame.facts.exposureSeconds ?? 0)
  const clock = Math.max(from.clockStepSeconds, to.clockStepSeconds)
  return Math.max(0, to.seconds - from.seconds - shutter - clock - WRITE_SECONDS)
}

/** Largest difference of camera direction between two frames, degrees; null when the files do not say. */
export function turnDegrees(from: Placed, to: Placed): number | null {
  const a = from.frame.facts.attitude
  const b = to.frame.facts.attitude
  if (!a || !b) return null
  const turns = (['gimbalPitch', 'gimbalYaw', 'gimbalRoll'] as const).flatMap((axis) => {
    const x = a[axis]
    const y = b[axis]
    return x === null || y === null ? [] : [Math.abs(((((x - y + 180) % 360) + 360) % 360) - 180)]
  })
  return turns.length === 0 ? null : Math.max(...turns)
}

/** Difference of height above the take-off point, metres; null when the files do not say. */
export function climbMetres(from: Placed, to: Placed): number | null {
  const a = from.frame.facts.attitude?.relativeHeightMetres ?? null
  const b = to.frame.facts.attitude?.relativeHeightMetres ?? null
  return a === null || b === null ? null : Math.abs(a - b)
}

const METRES_PER_DEGREE = 111_200

/** Distance over ground, metres, flat-earth (good to 1 % below a kilometre); null when the files do not say. */
export function moveMetres(from: Placed, to: Placed): number | null {
  const a = from.frame.facts.position
  const b = to.frame.facts.position
  if (!a || !b) return null
  const north = (a.latitude - b.latitude) * METRES_PER_DEGREE
  const turn = ((((a.longitude - b.longitude + 180) % 360) + 360) % 360) - 180
  const east = turn * METRES_PER_DEGREE * Math.cos((a.latitude * Math.PI) / 180)
  return Math.hypot(north, east)
}
