import type { Address } from '#core/kernels'

/**
 * A radiance image in the shared memory: three float planes, linear sRGB primaries, white balanced to D65, 1.0 =
 * saturation of the reference frame. Values may be negative (noise), far above 1 (lamps) or outside the sRGB gamut.
 */
export interface RadiancePlanes {
  readonly width: number
  readonly height: number
  /** Floats from one row to the next, ≥ width. */
  readonly stride: number
  readonly r: Address
  readonly g: Address
  readonly b: Address
}
