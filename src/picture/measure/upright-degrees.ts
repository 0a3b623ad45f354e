import type { Orientation } from '#core/pixels'

/** A direction of the frame as stored (0 right, clockwise as seen, modulo 180) in the frame held upright by its Exif orientation. */
export function uprightDegrees(degrees: number, orientation: Orientation): number {
  const turned = orientation === 6 || orientation === 8 ? degrees + 90 : degrees
  const mirrored = orientation === 2 || orientation === 4 ? -turned : turned
  const exchanged = orientation === 5 || orientation === 7 ? 90 - mirrored : mirrored
  return ((exchanged % 180) + 180) % 180
}
