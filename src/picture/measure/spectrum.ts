/** Even part of a blob's Fourier transform on rings: `values[ring · ANGLES + angle]`. */
export interface Spectrum {
  /** Cycles per pixel of each ring. */
  readonly rings: Float64Array
  readonly values: Float64Array
}

/** Directions over half a turn. */
export const ANGLES = 16
export const RINGS = 10

/** Rings that carry a blob: evenly spaced, to where a Gaussian of this `narrow` spread (pixels) has fallen to 13 %. */
export function ringsFor(narrow: number): Float64Array {
  const last = Math.min(0.38, 2 / (2 * Math.PI * narrow))
  return Float64Array.from({ length: RINGS }, (_, i) => (last * (i + 1)) / RINGS)
}

/** The transform of a mean blob (see meanBlob), tapered round from three quarters of its radius. */
export function spectrumOf(blob: Float64Array, cell: number, rings: Float64Array): Spectrum {
  const side = Math.round(Math.sqrt(blob.length))
  const half = (side - 1) / 2
  const even = evenPart(blob, side)
  const values = new Float64Array(rings.length * ANGLES)
  const cosX = new Float64Array(side)
  const sinX = new Float64Array(side)
  for (let r = 0; r < rings.length; r++)
    for (let a = 0; a < ANGLES; a++) {
      const angle = (a * Math.PI) / ANGLES
      const kx = 2 * Math.PI * rings[r]! * Math.cos(angle) * cell
      const ky = 2 * Math.PI * rings[r]! * Math.sin(angle) * cell
      for (let i = 0; i < side; i++) {
        cosX[i] = Math.cos(kx * (i - half))
        sinX[i] = Math.sin(kx * (i - half))
      }
      let sum = 0
      for (let y = 0; y <= half; y++) {
        let c = 0
        let s = 0
        const row = y * side
        for (let x = 0; x < side; x++) {
          c += even[row + x]! * cosX[x]!
          s += even[row + x]! * sinX[x]!
        }
        const p = ky * (y - half)
        sum += (Math.cos(p) * c - Math.sin(p) * s) * (y === half ? 1 : 2)
      }
      values[r * ANGLES + a] = sum
    }
  return { rings, values }
}

/** (f(x) + f(−x))/2, tapered. */
function evenPart(blob: Float64Array, side: number): Float64Array {
  const out = new Float64Array(side * side)
  const half = (side - 1) / 2
  const last = out.length - 1
  for (let y = 0; y < side; y++)
    for (let x = 0; x < side; x++) {
      const r = Math.hypot(x - half, y - half) / (half - 2)
      if (r >= 1) continue
      const taper = r < 0.75 ? 1 : 0.5 + 0.5 * Math.cos(((r - 0.75) / 0.25) * Math.PI)
      const i = y * side + x
      out[i] = (taper * (blob[i]! + blob[last - i]!)) / 2
    }
  return out
}
