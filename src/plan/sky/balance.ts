import { type Instant, MINUTE } from './clock.ts'
import { fallsBelow } from './crossing.ts'
import type { Evening } from './evening.ts'
import { lightAt, pictureSkyLuminance } from './sky-state.ts'

export interface Balance {
  readonly at: Instant | null
  readonly never: 'sky-stays-brighter' | 'sky-stays-darker' | null
  readonly sunAltitude: number | null
  /** How long the sky takes to fall one more stop then; null where it does not. */
  readonly minutesPerStop: number | null
}

/**
 * When the sky of a picture has fallen to the luminance of a lit subject, cd/m²; toward a heading in degrees, or null for
 * the mean of all directions.
 */
export function balanceOf(evening: Evening, luminance: number, headingDegrees: number | null): Balance {
  const { momentAt, conditions, from, to } = evening
  const skyAt = (at: Instant) => pictureSkyLuminance(momentAt(at), conditions, headingDegrees)
  const found = fallsBelow(skyAt, luminance, from, to)
  if ('never' in found) {
    const never = found.never === 'stays-above' ? 'sky-stays-brighter' : 'sky-stays-darker'
    return { at: null, never, sunAltitude: null, minutesPerStop: null }
  }
  const fall = Math.log2(skyAt(found.at - 2 * MINUTE) / skyAt(found.at + 2 * MINUTE))
  return {
    at: found.at,
    never: null,
    sunAltitude: momentAt(found.at).sun.altitude,
    minutesPerStop: fall > 0.01 ? 4 / fall : null,
  }
}

/** When the light on the ground falls below a level in lux: where obstacle sensors that need it go blind. */
export const groundFallsBelow = ({ momentAt, conditions, from, to }: Evening, lux: number) =>
  fallsBelow((at) => lightAt(momentAt(at), conditions).lux, lux, from, to)
