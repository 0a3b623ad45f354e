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

/**
 * The transform of mean blobs (see meanBlob) of `side` cells on given rings, tapered round from three quarters of their radius. A frame
 * needs it some twenty times over, so sines and cosines are tabled once.
 */
export function transformOn(rings: Float64Array, side: number, cell: number): (blob: Float64Array) => Spectrum {
  const half = (side - 1) / 2
  const waves = rings.length * ANGLES
  const cosX = new Float64Array(waves * side)
  const sinX = new Float64Array(waves * side)
  const cosY = new Float64Array(waves * side)
  const sinY = new Float64Array(waves * side)
  for (let w = 0; w < waves; w++) {
    const angle = ((w % ANGLES) * Math.PI) / ANGLES
    const k = 2 * Math.PI * rings[Math.floor(w / ANGLES)]! * cell
    fillWave(k * Math.cos(angle), w * side, half, cosX, sinX)
    fillWave(k * Math.sin(angle), w * side, half, cosY, sinY)
  }
  // The taper leaves nothing outside a circle.
  const widths = Int32Array.from({ length: half + 1 }, (_, y) =>
    Math.sqrt(Math.max(0, (half - 2) ** 2 - (y - half) ** 2)),
  )
  return (blob) => {
    const even = evenPart(blob, side)
    const values = new Float64Array(waves)
    for (let w = 0; w < waves; w++) {
      const at = w * side
      let sum = 0
      // The even part is the same at x and −x: half of the rows count twice.
      for (let y = 2; y <= half; y++) {
        let c = 0
        let s = 0
        const reach = widths[y]!
        for (let x = half - reach; x <= half + reach; x++) {
          const v = even[y * side + x]!
          c += v * cosX[at + x]!
          s += v * sinX[at + x]!
        }
        sum += (cosY[at + y]! * c - sinY[at + y]! * s) * (y === half ? 1 : 2)
      }
      values[w] = sum
    }
    return { rings, values }
  }
}

/** cos and sin of k·(i − half) by turning on from one to the next. */
function fillWave(k: number, at: number, half: number, cos: Float64Array, sin: Float64Array): void {
  const [c, s] = [Math.cos(k), Math.sin(k)]
  let [x, y] = [Math.cos(k * half), -Math.sin(k * half)]
  for (let i = 0; i <= 2 * half; i++) {
    cos[at + i] = x
    sin[at + i] = y
    ;[x, y] = [x * c - y * s, x * s + y * c]
  }
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
