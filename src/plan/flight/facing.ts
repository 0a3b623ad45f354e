import { angleBetween } from './geodesic.ts'
import type { View } from './view.ts'

/** Which light a viewpoint lives on: the glow where the sun went, the rest of the sky, or the ground alone. */
export type Facing = 'afterglow' | 'away' | 'down'

/** The glow spans about this much to either side of the sun's azimuth; an assumption of this project. */
export const GLOW_HALF_WIDTH_DEGREES = 60

/** From this tilt on down there is no sky in the frame of a usual lens. */
export const DOWN_TILT_DEGREES = -60

/** In the order in which they are flown: afterglow first, looking down last (common practice). */
export const facingOrder: readonly Facing[] = ['afterglow', 'away', 'down']

export function facingOf(view: Pick<View, 'headingDegrees' | 'tiltDegrees'>, sunAzimuthDegrees: number): Facing {
  if (view.tiltDegrees <= DOWN_TILT_DEGREES) return 'down'
  return angleBetween(view.headingDegrees, sunAzimuthDegrees) <= GLOW_HALF_WIDTH_DEGREES ? 'afterglow' : 'away'
}
