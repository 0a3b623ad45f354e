/**
 * How a frame's content stands from the reference's, in pixels at the picture's centre (x right, y down) and degrees
 * clockwise as seen: what stood at c + p stands at c + shift + R·p, with R = [cos −sin; sin cos] because y runs down.
 */
export interface Motion {
  readonly x: number
  readonly y: number
  readonly rotationDegrees: number
}

export const still: Motion = { x: 0, y: 0, rotationDegrees: 0 }

/** The reference position seen at a frame's pixel (0, 0), and its steps for one pixel right; one down is (−stepY, stepX). */
export interface Lookup {
  readonly originX: number
  readonly originY: number
  readonly stepX: number
  readonly stepY: number
}

/** Reference position of frame pixel (i, j) = origin + i·(stepX, stepY) + j·(−stepY, stepX). Pixel centres are whole numbers. */
export function lookupOf(motion: Motion, width: number, height: number): Lookup {
  const cx = (width - 1) / 2
  const cy = (height - 1) / 2
  const angle = (motion.rotationDegrees * Math.PI) / 180
  const c = Math.cos(angle)
  const s = -Math.sin(angle)
  const fromX = -cx - motion.x
  const fromY = -cy - motion.y
  return { originX: cx + c * fromX - s * fromY, originY: cy + s * fromX + c * fromY, stepX: c, stepY: s }
}

/** The farthest that any pixel of the frame looks outside the reference picture. */
export function reachOf(motion: Motion, width: number, height: number): number {
  const half = Math.hypot(width, height) / 2
  const angle = (Math.abs(motion.rotationDegrees) * Math.PI) / 180
  return Math.ceil(Math.max(Math.abs(motion.x), Math.abs(motion.y)) + 2 * half * Math.sin(angle / 2))
}
