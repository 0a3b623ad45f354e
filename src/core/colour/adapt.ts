import { apply3, diagonal3, invert3, type Matrix3, multiply3 } from '#core/base'
import { type Chromaticity, xyzFromXy } from './white.ts'

/**
 * Sharpened cone responses of the linear Bradford transform (Lam 1985; the form of ISO 15076-1:2010 annex E.3 and of
 * DNG 1.6 chapter 6). XYZ in, dimensionless out.
 */
const cones: Matrix3 = [0.8951, 0.2664, -0.1614, -0.7502, 1.7135, 0.0367, 0.0389, -0.0685, 1.0296]
const conesInverse = invert3(cones) as Matrix3

/** How far one cone may be scaled: chromaticities outside the real ones would otherwise give infinite gains. */
const GAIN_RANGE = [0.1, 10] as const

/** XYZ seen under white `from` → the XYZ that looks alike under white `to`: linear Bradford, complete adaptation. */
export function adaptWhite(from: Chromaticity, to: Chromaticity): Matrix3 {
  const a = apply3(cones, xyzFromXy(from))
  const b = apply3(cones, xyzFromXy(to))
  const gain = (i: 0 | 1 | 2) => {
    const ratio = b[i] > 0 && a[i] > 0 ? b[i] / a[i] : GAIN_RANGE[1]
    return Math.min(Math.max(ratio, GAIN_RANGE[0]), GAIN_RANGE[1])
  }
  return multiply3(conesInverse, multiply3(diagonal3([gain(0), gain(1), gain(2)]), cones))
}
