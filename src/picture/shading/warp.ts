import type { Address, TaskContext } from '#core/kernels'
import type { WarpRectilinear } from '#picture/raw'
import { stripRows } from './gain-rows.ts'
import { radialOf } from './radial.ts'

export type WarpTerms = WarpRectilinear['planes'][number]

/** One plane bent into another of the same size. */
export interface WarpStep {
  readonly from: Address
  readonly to: Address
  readonly width: number
  readonly height: number
  readonly terms: WarpTerms
  readonly centreX: number
  readonly centreY: number
  /** Filled by `writeWarpTable`. */
  readonly table: Address
}

/** True when the terms bend nothing: the plane may stay as it is, bit for bit. */
export const bendsNothing = ([kr0, kr1, kr2, kr3, kt0, kt1]: WarpTerms): boolean =>
  kr0 === 1 && kr1 === 0 && kr2 === 0 && kr3 === 0 && kt0 === 0 && kt1 === 0

/** Task: one strip of the bent plane. */
export function warpRows({ kernels, memory, scratch }: TaskContext, step: WarpStep, item: number): void {
  const { width, height } = step
  const { centreX, centreY, reach } = radialOf(width, height, step.centreX, step.centreY)
  const [kr0, ...rest] = step.terms
  memory.f32(scratch, 9).set([kr0 - 1, ...rest, centreX, centreY, reach])
  const { from, to } = stripRows(item, height)
  for (let row = from; row < to; row++)
    kernels.warpRow(step.from, step.to + 4 * width * row, width, height, row, scratch, step.table)
}

/**
 * Where the corrected pixel (x, y) comes from, in source pixels, double precision: DNG 1.6 chapter 7 in the reference
 * code's convention (whole pixel coordinates, exclusive bounds). The kernel computes the same in single precision.
 */
export function warpSource(
  x: number,
  y: number,
  width: number,
  height: number,
  warp: WarpRectilinear,
  plane = 0,
): readonly [number, number] {
  const [kr0, kr1, kr2, kr3, kt0, kt1] = warp.planes[Math.min(plane, warp.planes.length - 1)]!
  const { centreX, centreY, reach } = radialOf(width, height, warp.centreX, warp.centreY)
  const dx = (x - centreX) / reach
  const dy = (y - centreY) / reach
  const r2 = Math.min(dx * dx + dy * dy, 1)
  const f = kr0 + r2 * (kr1 + r2 * (kr2 + r2 * kr3))
  return [
    centreX + reach * (f * dx + kt0 * 2 * dx * dy + kt1 * (r2 + 2 * dx * dx)),
    centreY + reach * (f * dy + kt1 * 2 * dx * dy + kt0 * (r2 + 2 * dy * dy)),
  ]
}
