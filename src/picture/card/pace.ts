import type { Placed } from './placed.ts'

/** A camera writes a raw file in a second or so before it takes the next frame of a bracket. */
const WRITE_SECONDS = 1

/** Whether a camera's clock is read when the shutter opens or when it closes; null when not known. */
export type Stamp = 'opening' | 'closing' | null

/** How long the shutter was open between the two times, seconds; the longer of the two exposures where it is not known. */
export function shutterBetween(from: Placed, to: Placed, stamp: Stamp): number {
  const first = from.frame.facts.exposureSeconds ?? 0
  const second = to.frame.facts.exposureSeconds ?? 0
  return stamp === 'opening' ? first : stamp === 'closing' ? second : Math.max(first, second)
}

/**
 * Seconds between two frames that neither the shutter, nor the writing, nor the clock's coarseness explains; ≥ 0. Null
 * when either has no time.
 */
export function pauseSeconds(from: Placed, to: Placed, stamp: Stamp = null): number | null {
  if (from.seconds === null || to.seconds === null || to.gapUnknown) return null
  const clock = Math.max(from.clockStepSeconds, to.clockStepSeconds)
  return Math.max(0, to.seconds - from.seconds - shutterBetween(from, to, stamp) - clock - WRITE_SECONDS)
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

/** Zones differ by half hours, a few by quarters. */
const ZONE_STEP_SECONDS = 1800
/** A camera's own pace inside a bracket, and the clock's coarseness. */
const ACROSS_ZONES_SECONDS = 4

/** A pause of whole half hours and a moment may be a moment and a clock that was set to another zone; null when not. */
export function pauseAcrossZones(pause: number | null): number | null {
  if (pause === null || pause < ZONE_STEP_SECONDS - ACROSS_ZONES_SECONDS) return null
  const left = pause - ZONE_STEP_SECONDS * Math.round(pause / ZONE_STEP_SECONDS)
  return Math.abs(left) <= ACROSS_ZONES_SECONDS ? Math.max(0, left) : null
}
