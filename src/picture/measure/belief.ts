/** What a measured stretch says of a movement's length. */
export interface LengthBelief {
  /** Mean of the length, pixels. */
  readonly pixels: number
  /** Probability that the true length is within 0.15 px or 5 %, whichever is larger, of `pixels`. */
  readonly confidence: number
}

const STEPS = 400

/**
 * Length from the size of a stretch (L²/12, px²) that was measured with error `error` in each of its two parts. The size alone
 * is never below zero, so noise would always look like movement; here every length from none on is weighed by how well it
 * explains what was measured (Rice 1945: the size of a two-part quantity in noise), all lengths being equally likely before.
 */
export function lengthBelief(size: number, error: number): LengthBelief {
  const s = Math.max(error, 1e-5)
  const longest = Math.sqrt(12 * (size + 6 * s))
  const shortest = Math.sqrt(12 * Math.max(0, size - 6 * s))
  const lengthAt = (i: number) => shortest + ((i + 0.5) / STEPS) * (longest - shortest)
  const weights = Float64Array.from({ length: STEPS }, (_, i) => {
    const m = lengthAt(i) ** 2 / 12
    return Math.exp(-((m - size) ** 2) / (2 * s * s)) * besselScaled((m * size) / (s * s))
  })
  let [sum, mean] = [0, 0]
  weights.forEach((w, i) => {
    sum += w
    mean += w * lengthAt(i)
  })
  const pixels = mean / sum
  const tolerance = Math.max(0.15, 0.05 * pixels)
  let inside = 0
  weights.forEach((w, i) => {
    if (Math.abs(lengthAt(i) - pixels) <= tolerance) inside += w
  })
  return { pixels, confidence: inside / sum }
}

/** I₀(x)·e^−x, Abramowitz, Stegun 1964, 9.8.1 and 9.8.2: within 2e-7. */
export function besselScaled(x: number): number {
  if (x < 3.75) {
    const t = (x / 3.75) ** 2
    const i0 =
      1 + t * (3.5156229 + t * (3.0899424 + t * (1.2067492 + t * (0.2659732 + t * (0.0360768 + t * 0.0045813)))))
    return i0 * Math.exp(-x)
  }
  const t = 3.75 / x
  const tail = t * (-0.02057706 + t * (0.02635537 + t * (-0.01647633 + t * 0.00392377)))
  return (0.39894228 + t * (0.01328592 + t * (0.00225319 + t * (-0.00157565 + t * (0.00916281 + tail))))) / Math.sqrt(x)
}
