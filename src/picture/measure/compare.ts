import { median } from '#core/base'
import { driftOf, shifted } from './drift.ts'
import { cellVariance, FEWEST, type FrameLight, scatterAt } from './frame-light.ts'
import { type Line, lineThrough } from './light-line.ts'

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
  /** The middle of `expected`. */
  readonly level: number
  /** How far the frame stands aside of the others, in cells right and down; null when the picture cannot tell. */
  readonly drift: readonly [number, number] | null
}

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
  const exposure = new Float32Array(size)
  for (const f of others) {
    const ratio = 2 ** (f.exposureStops - own.exposureStops)
    const { light, noise } = f
    for (let i = 0; i < size; i++) {
      const v = light[i]!
      // Clipped is no number.
      if (Number.isNaN(v)) continue
      expected[i] = expected[i]! + v
      variance[i] = variance[i]! + cellVariance(noise, v)
      exposure[i] = exposure[i]! + ratio
    }
  }
  for (let i = 0; i < size; i++) {
    const e = exposure[i]!
    expected[i] = e > 0 ? expected[i]! / e : Number.NaN
    variance[i] = e > 0 ? variance[i]! / (e * e) : Number.NaN
  }
  return explain(own, expected, variance)
}

function explain(own: FrameLight, expected: Float32Array, variance: Float32Array): Residual | null {
  const known = knownIn(own, expected)
  if (known.length < FEWEST) return null
  const first = robustLine(own, expected, variance, known)
  if (!first) return null
  const drift = driftOf(own, expected, variance, first)
  const there = shifted(own, expected, drift ?? [0, 0])
  const unsure = shifted(own, variance, drift ?? [0, 0])
  const still = knownIn(own, there)
  const line = still.length < FEWEST ? null : robustLine(own, there, unsure, still)
  if (!line) return null
  const { slope, veil, veilError } = line
  const over = new Float32Array(expected.length).fill(Number.NaN)
  const spread = new Float32Array(expected.length).fill(Number.NaN)
  for (const i of still) {
    over[i] = own.light[i]! - slope * there[i]!
    spread[i] = Math.sqrt(cellVariance(own.noise, slope * there[i]!) + slope * slope * unsure[i]!)
  }
  for (let i = 0; i < there.length; i++) there[i] = slope * there[i]!
  return {
    ...{ columns: own.columns, rows: own.rows, expected: there, over, spread },
    ...{ slope, veil, veilError, slopeStops: Math.log2(slope), drift, level: middleOf(there) },
  }
}

/** Median of the known cells, every seventh of them. */
function middleOf(light: Float32Array): number {
  const some: number[] = []
  for (let i = 0; i < light.length; i += 7) if (Number.isFinite(light[i]!)) some.push(light[i]!)
  return some.length > 0 ? median(some) : 0
}

function knownIn(own: FrameLight, expected: Float32Array): number[] {
  const known: number[] = []
  for (let i = 0; i < expected.length; i++)
    if (Number.isFinite(expected[i]!) && Number.isFinite(own.light[i]!)) known.push(i)
  return known
}

const PASSES = 6
/** Cells that a line is fitted to: more do not make it surer than the scene is steady. */
const LINE_CELLS = 6000

/** Light = slope·expected + veil over the known cells. */
function robustLine(
  own: FrameLight,
  expected: Float32Array,
  variance: Float32Array,
  known: readonly number[],
): Line | null {
  const step = Math.max(1, Math.floor(known.length / LINE_CELLS))
  const n = Math.ceil(known.length / step)
  const x = new Float64Array(n)
  const y = new Float64Array(n)
  const scatter = new Float64Array(n)
  for (let k = 0; k < n; k++) {
    const i = known[k * step]!
    x[k] = expected[i]!
    y[k] = own.light[i]!
    scatter[k] = scatterAt(own.noise, expected[i]!, variance[i]!)
  }
  const start = Math.ceil(n / 900)
  const ratios: number[] = []
  for (let k = 0; k < n; k += start) if (x[k]! > 5 * Math.sqrt(scatter[k]!)) ratios.push(y[k]! / x[k]!)
  const slope = ratios.length > 0 ? median(ratios) : 1
  return lineThrough({ x, y, scatter, n }, { slope, veil: 0 }, PASSES)
}
