import type { Triple } from '#core/base'

/** A chromaticity: CIE 1931 x and y. */
export type Chromaticity = readonly [x: number, y: number]

/**
 * White points as four-digit chromaticities (CIE 15; D65 as IEC 61966-2-1 prints it). The four-digit form is the one
 * colour here: XYZ of D50 is (0.96430, 1, 0.82510) from it, while the profile connection space of ISO 15076-1 rounds
 * to (0.9642, 1, 0.8249). They differ in the fourth decimal; only `pcsD50` is the latter.
 */
export const white = {
  A: [0.4476, 0.4074],
  D50: [0.3457, 0.3585],
  D55: [0.3324, 0.3474],
  D65: [0.3127, 0.329],
  D75: [0.299, 0.3149],
  E: [1 / 3, 1 / 3],
} as const satisfies Record<string, Chromaticity>

/** D50 as profiles write it (ISO 15076-1:2010, 7.2.16). */
export const pcsD50: Triple = [0.9642, 1, 0.8249]

/** XYZ with Y = 1 of a chromaticity; y must be above 0. */
export const xyzFromXy = ([x, y]: Chromaticity): Triple => [x / y, 1, (1 - x - y) / y]

/** Chromaticity of an XYZ colour; D50's when X + Y + Z is not above 0, so that black has a neutral one. */
export function xyFromXyz([x, y, z]: Triple): Chromaticity {
  const sum = x + y + z
  return sum > 0 ? [x / sum, y / sum] : white.D50
}

export const whiteD50: Triple = xyzFromXy(white.D50)
export const whiteD65: Triple = xyzFromXy(white.D65)
