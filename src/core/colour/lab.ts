import type { Triple } from '#core/base'
import { whiteD50 } from './white.ts'

const EPSILON = 216 / 24389
const KAPPA = 24389 / 27

/** XYZ (Y = 1 at white) → CIE L*a*b*, L* 0..100 (CIE 15:2018, 8.2.1). `whiteXyz` defaults to D50. */
export function labFromXyz([x, y, z]: Triple, whiteXyz: Triple = whiteD50): Triple {
  const f = (t: number) => (t > EPSILON ? Math.cbrt(t) : (KAPPA * t + 16) / 116)
  const fx = f(x / whiteXyz[0])
  const fy = f(y / whiteXyz[1])
  const fz = f(z / whiteXyz[2])
  return [116 * fy - 16, 500 * (fx - fy), 200 * (fy - fz)]
}

/** The inverse of labFromXyz. */
export function xyzFromLab([l, a, b]: Triple, whiteXyz: Triple = whiteD50): Triple {
  const g = (t: number) => (t ** 3 > EPSILON ? t ** 3 : (116 * t - 16) / KAPPA)
  const fy = (l + 16) / 116
  return [g(fy + a / 500) * whiteXyz[0], g(fy) * whiteXyz[1], g(fy - b / 200) * whiteXyz[2]]
}
