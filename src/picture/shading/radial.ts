/** A point and the distance from it to the farthest corner of the picture, in pixels. */
export interface Radial {
  readonly centreX: number
  readonly centreY: number
  readonly reach: number
}

/**
 * Centre and radius as the DNG reference code takes them: from the exclusive bounds 0..width and 0..height (the
 * specification's formulae use the first and last pixel, width − 1). The centre is relative, 0.5 in the middle.
 */
export function radialOf(width: number, height: number, relativeX: number, relativeY: number): Radial {
  const centreX = width * relativeX
  const centreY = height * relativeY
  const farX = Math.max(Math.abs(centreX), Math.abs(width - centreX))
  const farY = Math.max(Math.abs(centreY), Math.abs(height - centreY))
  return { centreX, centreY, reach: Math.max(Math.hypot(farX, farY), 1e-6) }
}
