type Rgb = [number, number, number]

/** Σ c³ / Σ c² over the positive parts: for grey the grey itself, for a pure primary that channel; 0 for black. */
export function powerNorm([r, g, b]: Rgb): number {
  const [x, y, z] = [Math.max(r, 0), Math.max(g, 0), Math.max(b, 0)]
  const squares = x * x + y * y + z * z
  return squares > 0 ? (x * x * x + y * y * y + z * z * z) / squares : 0
}

/** How far outside 0..1 a channel may stand and still count as displayable: below a quarter of a 10-bit code. */
const GAMUT_TOLERANCE = 2e-4

export const inGamut = ([r, g, b]: Rgb): boolean =>
  Math.min(r, g, b) >= -GAMUT_TOLERANCE && Math.max(r, g, b) <= 1 + GAMUT_TOLERANCE

// Oklab's matrices for linear sRGB (Ottosson 2020). Kernels import nothing from other rooms; see core/colour for the
// same numbers with their tests.

/** Share of white at a display-linear level: 0 up to the lightness `from`, smoothly to `most` at white. */
export function whitening(level: number, from: number, most: number): number {
  const t = Math.min(Math.max((Math.cbrt(level) - from) / (1 - from), 0), 1)
  return most * t * t * (3 - 2 * t)
}

/** Linear sRGB → Oklab, then toward the neutral of display-linear level `level` by the share `white` (0..1). */
export function lampWhite([r, g, b]: Rgb, level: number, white: number): Rgb {
  const l = Math.cbrt(Math.max(0.4122214708 * r + 0.5363325363 * g + 0.0514459929 * b, 0))
  const m = Math.cbrt(Math.max(0.2119034982 * r + 0.6806995451 * g + 0.1073969566 * b, 0))
  const s = Math.cbrt(Math.max(0.0883024619 * r + 0.2817188376 * g + 0.6299787005 * b, 0))
  const lightness = 0.2104542553 * l + 0.793617785 * m - 0.0040720468 * s
  const a = 1.9779984951 * l - 2.428592205 * m + 0.4505937099 * s
  const bb = 0.0259040371 * l + 0.7827717662 * m - 0.808675766 * s
  return [lightness + white * (Math.cbrt(level) - lightness), a * (1 - white), bb * (1 - white)]
}

/** Oklab → linear sRGB with the chroma multiplied by `chroma`. */
function fromOklab([lightness, a, b]: Rgb, chroma: number): Rgb {
  const l = (lightness + chroma * (0.3963377774 * a + 0.2158037573 * b)) ** 3
  const m = (lightness - chroma * (0.1055613458 * a + 0.0638541728 * b)) ** 3
  const s = (lightness - chroma * (0.0894841775 * a + 1.291485548 * b)) ** 3
  return [
    4.0767416621 * l - 3.3077115913 * m + 0.2309699292 * s,
    -1.2684380046 * l + 2.6097574011 * m - 0.3413193965 * s,
    -0.0041960863 * l - 0.7034186147 * m + 1.707614701 * s,
  ]
}

/** Halvings of the chroma interval: 2^-10 of the colour's chroma, far below one code. */
const HALVINGS = 10

/** The displayable colour of the same Oklab lightness and hue with the largest chroma, at most its own. */
export function toGamut(lab: Rgb): Rgb {
  const full = fromOklab(lab, 1)
  if (inGamut(full)) return full
  let low = 0
  let width = 1
  for (let i = 0; i < HALVINGS; i++) {
    width *= 0.5
    if (inGamut(fromOklab(lab, low + width))) low += width
  }
  return fromOklab(lab, low)
}

/** The sRGB transfer function, IEC 61966-2-1:1999, of a value held to 0..1. */
export function encodedSrgb(linear: number): number {
  const v = Math.min(Math.max(linear, 0), 1)
  return v <= 0.0031308 ? 12.92 * v : 1.055 * v ** (1 / 2.4) - 0.055
}
