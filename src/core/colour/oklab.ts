import { apply3, type Matrix3, type Triple } from '#core/base'

/**
 * Oklab, Ottosson 2020 ("A perceptual color space for image processing", with its matrices for linear sRGB):
 * L 0..1, a and b about −0.4..0.4, dimensionless. Linear sRGB outside 0..1 is allowed; cube roots keep their sign.
 */
const toCones: Matrix3 = [
  0.4122214708, 0.5363325363, 0.0514459929, 0.2119034982, 0.6806995451, 0.1073969566, 0.0883024619, 0.2817188376,
  0.6299787005,
]
const toLab: Matrix3 = [
  0.2104542553, 0.793617785, -0.0040720468, 1.9779984951, -2.428592205, 0.4505937099, 0.0259040371, 0.7827717662,
  -0.808675766,
]
const fromLab: Matrix3 = [
  1, 0.3963377774, 0.2158037573, 1, -0.1055613458, -0.0638541728, 1, -0.0894841775, -1.291485548,
]
const fromCones: Matrix3 = [
  4.0767416621, -3.3077115913, 0.2309699292, -1.2684380046, 2.6097574011, -0.3413193965, -0.0041960863, -0.7034186147,
  1.707614701,
]

/** Linear sRGB → Oklab (L, a, b). */
export function oklabFromLinearSrgb(rgb: Triple): Triple {
  const [l, m, s] = apply3(toCones, rgb)
  return apply3(toLab, [Math.cbrt(l), Math.cbrt(m), Math.cbrt(s)])
}

/** Oklab → linear sRGB; values outside 0..1 are colours outside the space. Round trip within 1e-6. */
export function linearSrgbFromOklab(lab: Triple): Triple {
  const [l, m, s] = apply3(fromLab, lab)
  return apply3(fromCones, [l ** 3, m ** 3, s ** 3])
}
