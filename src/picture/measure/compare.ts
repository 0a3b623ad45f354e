import { median } from '#core/base'
import type { NoiseTerm } from '#core/sensor'

/** The light of a frame's cells, as `frameLevels` writes it. */
export interface FrameLight {
  readonly columns: number
  readonly rows: number
  /** 1 = white; NaN where a sample is clipped. Row by row. */
  readonly light: Float32Array
  readonly noise: NoiseTerm
  /** Light recorded, in stops, from the tags: log2(t·S/N²). */
  readonly exposureStops: number
}

/** What a frame has that the others of its bracket do not lead to expect. */
export interface Residual {
  readonly columns: number
  readonly rows: number
  /** What the others lead to expect, in the frame's own units; NaN where unknown. */
  readonly expected: Float32Array
  /** The frame less that, drift between the frames taken out; NaN where unknown. */
  readonly over: Float32Array
  /** Standard deviation of `over` by the noise model. */
  readonly spread: Float32Array
  /** Frame = slope·others + veil: `veil` is light that lies over the whole frame and not over the others, in its units. */
  readonly slope: number
  readonly veil: number
  readonly veilError: number
  /** Exposure by the pixels over that by the tags, in stops. */
  readonly slopeStops: number
}

/** Samples in a cell's mean. */
const SAMPLES = 256
/** Cells needed for any of this. */
const FEWEST = 80
/** Scene changes, drift and shading leave about this share of a cell's light. */
const SCENE = 0.02

/**
 * Holds a frame against the others. What they lead to expect is their summed light over their summed exposure (the weights
 * that shot noise asks for), unclipped frames only. A line through all cells gives the true exposure ratio and a veil; what
 * a small shift of the picture explains is then taken out. Null when too few cells are known in both.
 */
export function residualOf(frames: readonly FrameLight[], k: number): Residual | null {
  const own = frames[k]!
  const others = frames.filter((f, j) => j !== k && f.columns === own.columns && f.rows === own.rows)
  if (others.length === 0) return null
  const size = own.columns * own.rows
  const expected = new Float32Array(size)
  const variance = new Float32Array(size)
  for (let i = 0; i < size; i++) {
    let light = 0
    let exposure = 0
    let noise = 0
    for (const f of others) {
      const v = f.light[i]!
      if (!Number.isFinite(v)) continue
      light += v
      exposure += 2 ** (f.exposureStops - own.exposureStops)
      noise += (f.noise.scale * Math.max(v, 0) + f.noise.offset) / SAMPLES
    }
    expected[i] = exposure > 0 ? light / exposure : Number.NaN
    variance[i] = exposure > 0 ? noise / exposure ** 2 : Number.NaN
  }
  return explain(own, expected, variance)
}

function explain(own: FrameLight, expected: Float32Array, variance: Float32Array): Residual | null {
  const size = expected.length
  const known: number[] = []
  const own256 = (v: number) => (own.noise.scale * Math.max(v, 0) + own.noise.offset) / SAMPLES
  for (let i = 0; i < size; i++) if (Number.isFinite(expected[i]!) && Number.isFinite(own.light[i]!)) known.push(i)
  if (known.length < FEWEST) return null
  const scatter = (i: number) =>
    own256(Math.max(expected[i]!, 0)) + variance[i]! + (SCENE * Math.max(expected[i]!, 0)) ** 2
  const line = robustLine(own.light, expected, known, scatter)
  if (!line) return null
  const { slope, veil, veilError } = line
  const over = new Float32Array(size).fill(Number.NaN)
  const spread = new Float32Array(size).fill(Number.NaN)
  for (const i of known) {
    over[i] = own.light[i]! - slope * expected[i]!
    spread[i] = Math.sqrt(own256(slope * expected[i]!) + slope * slope * variance[i]!)
    expected[i] = slope * expected[i]!
  }
  takeOutDrift(own.columns, own.rows, expected, over, spread, veil)
  return {
    ...{ columns: own.columns, rows: own.rows, expected, over, spread },
    ...{ slope, veil, veilError, slopeStops: Math.log2(slope) },
  }
}

/** Light = slope·expected + veil by reweighted least squares (Cauchy). */
function robustLine(
  light: Float32Array,
  expected: Float32Array,
  known: readonly number[],
  scatter: (i: number) => number,
) {
  const bright = known.filter((i) => expected[i]! > 5 * Math.sqrt(scatter(i)))
  let slope = bright.length > 0 ? median(bright.map((i) => light[i]! / expected[i]!)) : 1
  let veil = 0
  let veilError = 0
  for (let pass = 0; pass < 10; pass++) {
    let [w, x, y, xx, xy] = [0, 0, 0, 0, 0]
    for (const i of known) {
      const s = scatter(i)
      const z = (light[i]! - slope * expected[i]! - veil) ** 2 / s
      const weight = 1 / (s * (1 + z / 4))
      w += weight
      x += weight * expected[i]!
      y += weight * light[i]!
      xx += weight * expected[i]! * expected[i]!
      xy += weight * expected[i]! * light[i]!
    }
    const spread = xx - (x * x) / w
    if (!(spread > 0)) return null
    slope = (xy - (x * y) / w) / spread
    veil = (y - slope * x) / w
    veilError = Math.sqrt(1 / w + (x / w) ** 2 / spread)
  }
  return slope > 0 && Number.isFinite(slope) ? { slope, veil, veilError } : null
}

/**
 * A frame that stands a little aside differs by the picture's slope times the shift. The shift is found by least squares and its
 * part of `over` taken out, three times over; without this, rows of windows would pass for bands.
 */
function takeOutDrift(
  columns: number,
  rows: number,
  expected: Float32Array,
  over: Float32Array,
  spread: Float32Array,
  veil: number,
): void {
  const gx = new Float32Array(expected.length)
  const gy = new Float32Array(expected.length)
  for (let y = 1; y < rows - 1; y++)
    for (let x = 1; x < columns - 1; x++) {
      const i = y * columns + x
      gx[i] = 0.5 * (expected[i + 1]! - expected[i - 1]!)
      gy[i] = 0.5 * (expected[i + columns]! - expected[i - columns]!)
    }
  const sound = (i: number) => Number.isFinite(over[i]! + gx[i]! + gy[i]!)
  for (let pass = 0; pass < 3; pass++) {
    let [xx, xy, yy, x, y] = [0, 0, 0, 0, 0]
    for (let i = 0; i < over.length; i++) {
      if (!sound(i)) continue
      const s = spread[i]! ** 2 + (SCENE * Math.max(expected[i]!, 0)) ** 2 + 1e-18
      const off = over[i]! - veil
      const w = 1 / (s * (1 + (off * off) / s / 9))
      xx += w * gx[i]! * gx[i]!
      xy += w * gx[i]! * gy[i]!
      yy += w * gy[i]! * gy[i]!
      x += w * gx[i]! * off
      y += w * gy[i]! * off
    }
    const determinant = xx * yy - xy * xy
    if (!(determinant > 1e-6 * xx * yy)) return
    const dx = (x * yy - y * xy) / determinant
    const dy = (y * xx - x * xy) / determinant
    for (let i = 0; i < over.length; i++) if (sound(i)) over[i] = over[i]! - dx * gx[i]! - dy * gy[i]!
  }
}
