import { apply3, diagonal3, invert3, type Matrix3, multiply3 } from '#core/base'
import { adaptWhite } from './adapt.ts'
import { type Chromaticity, white, xyzFromXy } from './white.ts'

/** A linear RGB space: chromaticities of its primaries and of its white. */
export interface RgbSpace {
  readonly red: Chromaticity
  readonly green: Chromaticity
  readonly blue: Chromaticity
  readonly white: Chromaticity
}

/** IEC 61966-2-1:1999 (the primaries of ITU-R BT.709). */
export const srgbSpace: RgbSpace = { red: [0.64, 0.33], green: [0.3, 0.6], blue: [0.15, 0.06], white: white.D65 }
/** SMPTE EG 432-1 primaries with the D65 white of displays. */
export const p3Space: RgbSpace = { red: [0.68, 0.32], green: [0.265, 0.69], blue: [0.15, 0.06], white: white.D65 }
/** ITU-R BT.2020. */
export const bt2020Space: RgbSpace = {
  red: [0.708, 0.292],
  green: [0.17, 0.797],
  blue: [0.131, 0.046],
  white: white.D65,
}

const columns = (space: RgbSpace): Matrix3 => {
  const [r, g, b] = [xyzFromXy(space.red), xyzFromXy(space.green), xyzFromXy(space.blue)]
  return [r[0], g[0], b[0], r[1], g[1], b[1], r[2], g[2], b[2]]
}

/** Inverse of a matrix that is regular by construction. */
export function inverse(m: Matrix3): Matrix3 {
  const inverted = invert3(m)
  if (!inverted) throw new Error('a colour matrix that must be regular is singular')
  return inverted
}

/** Linear RGB (1, 1, 1 = white) → XYZ under the space's own white, Y = 1 at white (SMPTE RP 177). */
export function rgbToXyz(space: RgbSpace): Matrix3 {
  const m = columns(space)
  return multiply3(m, diagonal3(apply3(inverse(m), xyzFromXy(space.white))))
}

export const srgbToXyzD65: Matrix3 = rgbToXyz(srgbSpace)
export const xyzD65ToSrgb: Matrix3 = inverse(srgbToXyzD65)
export const bradfordD65ToD50: Matrix3 = adaptWhite(white.D65, white.D50)
export const bradfordD50ToD65: Matrix3 = adaptWhite(white.D50, white.D65)
/** Linear sRGB → XYZ adapted to D50 by Bradford. */
export const srgbToXyzD50: Matrix3 = multiply3(bradfordD65ToD50, srgbToXyzD65)
/** XYZ under D50 → linear sRGB by Bradford; values outside 0..1 are colours outside the space, kept as they are. */
export const xyzD50ToSrgb: Matrix3 = multiply3(xyzD65ToSrgb, bradfordD50ToD65)
