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
  /** The middle of `expected`. */
  readonly level: number
  /** How far the frame stands aside of the others, in cells right and down; null when the picture cannot tell. */
  readonly drift: readonly [number, number] | null
}

/** Samples in a cell's mean, at least. */
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
  const exposure = new Float32Array(size)
  for (const f of others) {
    const ratio = 2 ** (f.exposureStops - own.exposureStops)
    const { light, noise } = f
    for (let i = 0; i < size; i++) {
      const v = light[i]!
      // Clipped is no number, and equals nothing.
      if (v !== v) continue
      expected[i] = expected[i]! + v
      variance[i] = variance[i]! + (noise.scale * Math.max(v, 0) + noise.offset) / SAMPLES
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
  const still = knownIn(own, there)
  const line = still.length < FEWEST ? null : robustLine(own, there, variance, still)
  if (!line) return null
  const { slope, veil, veilError } = line
  const over = new Float32Array(expected.length).fill(Number.NaN)
  const spread = new Float32Array(expected.length).fill(Number.NaN)
  for (const i of still) {
    over[i] = own.light[i]! - slope * there[i]!
    spread[i] = Math.sqrt(noiseAt(own, slope * there[i]!) + slope * slope * variance[i]!)
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

const noiseAt = (f: FrameLight, v: number) => (f.noise.scale * Math.max(v, 0) + f.noise.offset) / SAMPLES

function knownIn(own: FrameLight, expected: Float32Array): number[] {
  const known: number[] = []
  for (let i = 0; i < expected.length; i++)
    if (Number.isFinite(expected[i]!) && Number.isFinite(own.light[i]!)) known.push(i)
  return known
}

interface Line {
  readonly slope: number
  readonly veil: number
  readonly veilError: number
}

const PASSES = 6
/** Cells that a line is fitted to: more do not make it surer than the scene is steady. */
const LINE_CELLS = 6000

/** Light = slope·expected + veil by reweighted least squares (Cauchy). */
function robustLine(
  own: FrameLight,
  expected: Float32Array,
  variance: Float32Array,
  all: readonly number[],
): Line | null {
  const step = Math.max(1, Math.floor(all.length / LINE_CELLS))
  const known = step > 1 ? all.filter((_, k) => k % step === 0) : all
  const scatter = known.map((i) => {
    const v = Math.max(expected[i]!, 0)
    return noiseAt(own, v) + variance[i]! + (SCENE * v) ** 2
  })
  const start = Math.ceil(known.length / 900)
  const bright = known.filter((i, k) => k % start === 0 && expected[i]! > 5 * Math.sqrt(scatter[k]!))
  let slope = bright.length > 0 ? median(bright.map((i) => own.light[i]! / expected[i]!)) : 1
  let veil = 0
  let veilError = 0
  for (let pass = 0; pass < PASSES; pass++) {
    let [w, x, y, xx, xy] = [0, 0, 0, 0, 0]
    known.forEach((i, k) => {
      const s = scatter[k]!
      const off = own.light[i]! - slope * expected[i]! - veil
      const weight = 1 / (s + (off * off) / 4)
      w += weight
      x += weight * expected[i]!
      y += weight * own.light[i]!
      xx += weight * expected[i]! * expected[i]!
      xy += weight * expected[i]! * own.light[i]!
    })
    const spread = xx - (x * x) / w
    if (!(spread > 0)) return null
    slope = (xy - (x * y) / w) / spread
    veil = (y - slope * x) / w
    veilError = Math.sqrt(1 / w + (x / w) ** 2 / spread)
  }
  return slope > 0 && Number.isFinite(slope) ? { slope, veil, veilError } : null
}

const DRIFT_PASSES = 12
/** Drifts beyond this many cells are not looked for. */
const FARTHEST = 8

/**
 * How far the frame's picture stands from the expected one, in cells, by least squares on the expected one's slopes (Lucas, Kanade
 * 1981). Left in, rows of windows a little aside would pass for bands.
 */
function driftOf(
  own: FrameLight,
  expected: Float32Array,
  variance: Float32Array,
  { slope, veil }: Line,
): readonly [number, number] | null {
  const { columns, rows, light } = own
  let drift = coarseDrift(own, expected, variance, { slope, veil })
  for (let pass = 0; pass < DRIFT_PASSES; pass++) {
    const there = shifted(own, expected, drift)
    let [xx, xy, yy, x, y] = [0, 0, 0, 0, 0]
    for (let r = 1; r < rows - 1; r++)
      for (let i = r * columns + 1; i < (r + 1) * columns - 1; i++) {
        const gx = 0.5 * slope * (there[i + 1]! - there[i - 1]!)
        const gy = 0.5 * slope * (there[i + columns]! - there[i - columns]!)
        const v = slope * there[i]!
        const off = light[i]! - v - veil
        // What is unknown anywhere is no number here and fails the test.
        if (!(Math.abs(off + gx + gy) < Number.POSITIVE_INFINITY)) continue
        const s = noiseAt(own, v) + slope * slope * variance[i]! + (SCENE * v) ** 2
        // Weakly robust: a picture two cells aside differs a lot everywhere, and must not be ignored for it.
        const w = 1 / (s + (off * off) / 100)
        xx += w * gx * gx
        xy += w * gx * gy
        yy += w * gy * gy
        x -= w * gx * off
        y -= w * gy * off
      }
    const determinant = xx * yy - xy * xy
    if (!(determinant > 1e-6 * xx * yy)) return null
    const step = [(x * yy - y * xy) / determinant, (y * xx - x * xy) / determinant] as const
    drift = [drift[0] + step[0], drift[1] + step[1]]
    if (!(Math.hypot(...drift) < FARTHEST)) return null
    if (Math.hypot(...step) < 0.01) break
  }
  return drift
}

/** Whole cells that are tried to either side, across and down: 144 and 112 pixels of 12 MP. */
const [TRIED_ACROSS, TRIED_DOWN] = [3, 7]
/** A cell that differs by more than so many deviations has changed, and by how much says nothing. */
const CHANGED = 16

/** The shift by whole cells under which most cells agree: least squares alone settle on the next row of houses. */
function coarseDrift(
  own: FrameLight,
  expected: Float32Array,
  variance: Float32Array,
  { slope, veil }: Pick<Line, 'slope' | 'veil'>,
) {
  const { columns, rows, light } = own
  let best: readonly [number, number] = [0, 0]
  let least = Number.POSITIVE_INFINITY
  for (let dy = -TRIED_DOWN; dy <= TRIED_DOWN; dy++)
    for (let dx = -TRIED_ACROSS; dx <= TRIED_ACROSS; dx++) {
      let sum = 0
      let n = 0
      for (let y = TRIED_DOWN; y < rows - TRIED_DOWN; y += 2)
        for (let x = TRIED_ACROSS + (y & 3); x < columns - TRIED_ACROSS; x += 4) {
          const i = y * columns + x
          const v = slope * expected[i - dy * columns - dx]!
          const off = light[i]! - v - veil
          if (off !== off) continue
          const s = noiseAt(own, v) + slope * slope * variance[i]! + (SCENE * v) ** 2
          sum += off * off < CHANGED * s ? (off * off) / s : CHANGED
          n++
        }
      const cost = n >= FEWEST ? sum / n : Number.POSITIVE_INFINITY
      if (cost < least) {
        least = cost
        best = [dx, dy]
      }
    }
  return best
}

/** The expected picture as seen from where the frame stands, between cells by straight lines. */
function shifted({ columns, rows }: FrameLight, from: Float32Array, [dx, dy]: readonly [number, number]): Float32Array {
  if (Math.hypot(dx, dy) < 0.02) return from.slice()
  const to = new Float32Array(from.length).fill(Number.NaN)
  const [ix, iy] = [Math.floor(-dx), Math.floor(-dy)]
  const [fx, fy] = [-dx - ix, -dy - iy]
  for (let y = Math.max(0, -iy); y < Math.min(rows, rows - 1 - iy); y++)
    for (let x = Math.max(0, -ix); x < Math.min(columns, columns - 1 - ix); x++) {
      const at = (y + iy) * columns + x + ix
      const upper = from[at]! + fx * (from[at + 1]! - from[at]!)
      const lower = from[at + columns]! + fx * (from[at + columns + 1]! - from[at + columns]!)
      to[y * columns + x] = upper + fy * (lower - upper)
    }
  return to
}
