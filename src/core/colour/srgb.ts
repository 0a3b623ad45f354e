/**
 * The sRGB transfer function, IEC 61966-2-1:1999: 12.92 c up to 0.0031308, else 1.055 c^(1/2.4) − 0.055. Defined here
 * for all real numbers by odd symmetry, so that colours outside the space survive a round trip.
 */
export function encodeSrgb(linear: number): number {
  const a = Math.abs(linear)
  return Math.sign(linear) * (a <= 0.0031308 ? 12.92 * a : 1.055 * a ** (1 / 2.4) - 0.055)
}

/** The inverse: encoded 0..1 → linear 0..1. */
export function decodeSrgb(encoded: number): number {
  const a = Math.abs(encoded)
  return Math.sign(encoded) * (a <= 0.04045 ? a / 12.92 : ((a + 0.055) / 1.055) ** 2.4)
}

/**
 * encodeSrgb over 0..1 at evenly spaced linear values, first entry 0 and last 1, for look-up with linear interpolation.
 * With 4096 entries the interpolated value is within 0.005 of one 8-bit code of the function everywhere.
 */
export function srgbEncodeTable(entries: number): Float32Array {
  return Float32Array.from({ length: entries }, (_, i) => encodeSrgb(i / (entries - 1)))
}

/** Linear light of each code of an n-bit picture; `codes` is 256 for 8 bits, 65536 for 16. */
export function srgbDecodeTable(codes: number): Float32Array {
  return Float32Array.from({ length: codes }, (_, i) => decodeSrgb(i / (codes - 1)))
}
