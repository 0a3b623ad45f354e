import type { Crew, Task } from '#core/kernels'
import { type BaseLayer, boxMean, guidedBase, type SmallPlane } from './guided.ts'
import type { RadiancePlanes } from './planes.ts'

const CELL_FLOATS = 8
const CELL_BYTES = CELL_FLOATS * 4

interface CellsParams extends RadiancePlanes {
  readonly step: number
  readonly out: number
}

/** One row of cells. */
export const cellsTask: Task = ({ kernels }, p: CellsParams, item) => {
  const skip = item * p.step * p.stride * 4
  const rows = Math.min(p.step, p.height - item * p.step)
  const out = p.out + item * Math.ceil(p.width / p.step) * CELL_BYTES
  kernels.printCells(p.r + skip, p.g + skip, p.b + skip, p.width, rows, p.stride, p.step, out)
}

/** What a look is chosen from. Stops are log2 of radiance. */
export interface SceneStatistics {
  /** Stops of the cells' power norm at these shares of the area. */
  readonly p005: number
  readonly p02: number
  readonly p25: number
  readonly p50: number
  readonly p75: number
  readonly p98: number
  readonly p999: number
  /** The largest single channel value that 99.9 % of the cells stay under, in stops. */
  readonly peak: number
  /** Chroma variance = noiseScale · Y + noiseOffset in the evenest cells. */
  readonly noiseScale: number
  readonly noiseOffset: number
}

/** A radiance image reduced to cells of step × step pixels: all that range compression needs to know of it. */
export interface Scene {
  readonly width: number
  readonly height: number
  readonly step: number
  readonly columns: number
  readonly rows: number
  /** log2 of the power norm of each cell's mean. */
  readonly stops: Float32Array
  /** The edge-aware base of `stops`. */
  readonly base: BaseLayer
  /** R / Y and B / Y of each cell's neighbourhood, 0..MAX. */
  readonly rhoR: Float32Array
  readonly rhoB: Float32Array
  /** Norms are held above this, 14 stops under the median. */
  readonly floor: number
  readonly statistics: SceneStatistics
}

/** Cells along the longer side, about; the step is a multiple of 8 pixels. */
const CELLS_LONG_SIDE = 500
/** Window of the base, as a share of the longer side. */
const BASE_RADIUS_SHARE = 0.04
/** Standard deviation, stops, under which structure counts as texture and keeps its contrast. */
const TEXTURE_STOPS = 0.35
const RHO_MAX = 6
const FLOOR_STOPS = 14

const luminance = (r: number, g: number, b: number) => 0.2126 * r + 0.7152 * g + 0.0722 * b

function norm(r: number, g: number, b: number): number {
  const [x, y, z] = [Math.max(r, 0), Math.max(g, 0), Math.max(b, 0)]
  const squares = x * x + y * y + z * z
  return squares > 0 ? (x * x * x + y * y * y + z * z * z) / squares : 0
}

/** Reduces the planes by the crew and measures them. A picture without any positive sample counts as even and grey. */
export async function measureScene(crew: Crew, planes: RadiancePlanes): Promise<Scene> {
  const { width, height } = planes
  const step = Math.max(8, Math.round(Math.max(width, height) / CELLS_LONG_SIDE / 8) * 8)
  const columns = Math.ceil(width / step)
  const rows = Math.ceil(height / step)
  const count = columns * rows
  const mark = crew.arena.mark()
  try {
    const out = crew.arena.alloc(count * CELL_BYTES)
    await crew.run('finish.cells', { ...planes, step, out } satisfies CellsParams, rows)
    return sceneOf(crew.arena.f32(out, count * CELL_FLOATS), { width, height, step, columns, rows })
  } finally {
    crew.arena.release(mark)
  }
}

function sceneOf(
  cells: Float32Array,
  size: { width: number; height: number; step: number; columns: number; rows: number },
): Scene {
  const count = cells.length / CELL_FLOATS
  const plane = (i: number) => {
    const out = new Float32Array(count)
    // A sample that is no number (a hostile or broken file) must not reach the running sums below.
    for (let k = 0; k < count; k++) {
      const v = cells[k * CELL_FLOATS + i]!
      out[k] = Number.isFinite(v) ? v : 0
    }
    return out
  }
  const [r, g, b, variance, peaks] = [plane(0), plane(1), plane(2), plane(3), plane(4)]
  const norms = new Float32Array(count)
  for (let i = 0; i < count; i++) norms[i] = norm(r[i]!, g[i]!, b[i]!)
  const middle = quantileOf(
    sampled(norms, (n) => n > 0),
    0.5,
  )
  const floor = (middle > 0 ? middle : 1) * 2 ** -FLOOR_STOPS
  const stops = new Float32Array(count)
  for (let i = 0; i < count; i++) stops[i] = Math.log2(Math.max(norms[i]!, floor))
  const small = (data: Float32Array) => ({ width: size.columns, height: size.rows, data })
  const radius = Math.max(2, Math.round(Math.max(size.columns, size.rows) * BASE_RADIUS_SHARE))
  return {
    ...size,
    stops,
    base: guidedBase(small(stops), radius, TEXTURE_STOPS),
    ...neighbourhoodChroma([small(r), small(g), small(b)], floor),
    floor,
    statistics: { ...stopStatistics(stops, peaks, floor), ...chromaNoise(r, g, b, variance) },
  }
}

function neighbourhoodChroma(rgb: readonly SmallPlane[], floor: number): { rhoR: Float32Array; rhoB: Float32Array } {
  const [r, g, b] = rgb.map((p) => boxMean(p, 1).data) as [Float32Array, Float32Array, Float32Array]
  const rhoR = new Float32Array(r.length).fill(1)
  const rhoB = new Float32Array(r.length).fill(1)
  for (let i = 0; i < r.length; i++) {
    const y = luminance(r[i]!, g[i]!, b[i]!)
    if (y <= floor) continue
    rhoR[i] = Math.min(Math.max(r[i]! / y, 0), RHO_MAX)
    rhoB[i] = Math.min(Math.max(b[i]! / y, 0), RHO_MAX)
  }
  return { rhoR, rhoB }
}

/** Sorted values of some tens of thousands of cells, evenly taken: enough for any quantile here. */
function sampled(values: Float32Array, wanted: (value: number, i: number) => boolean = () => true): Float32Array {
  const every = Math.max(1, Math.floor(values.length / 40_000)) | 1
  const out = new Float32Array(Math.ceil(values.length / every))
  let n = 0
  for (let i = 0; i < values.length; i += every) if (wanted(values[i]!, i)) out[n++] = values[i]!
  return out.subarray(0, n).sort()
}

const quantileOf = (sorted: Float32Array, q: number): number => sorted[Math.round(q * (sorted.length - 1))] ?? 0

function stopStatistics(stops: Float32Array, peaks: Float32Array, floor: number) {
  const sorted = sampled(stops)
  return {
    p005: quantileOf(sorted, 0.005),
    p02: quantileOf(sorted, 0.02),
    p25: quantileOf(sorted, 0.25),
    p50: quantileOf(sorted, 0.5),
    p75: quantileOf(sorted, 0.75),
    p98: quantileOf(sorted, 0.98),
    p999: quantileOf(sorted, 0.999),
    peak: Math.log2(Math.max(quantileOf(sampled(peaks), 0.999), floor)),
  }
}

/** The lower envelope of chroma variance against luminance: even cells hold noise alone, textured ones more. */
function chromaNoise(r: Float32Array, g: Float32Array, b: Float32Array, variance: Float32Array) {
  const y = new Float32Array(r.length)
  for (let i = 0; i < y.length; i++) y[i] = luminance(r[i]!, g[i]!, b[i]!)
  const sorted = sampled(y)
  const [dark, low, high] = [quantileOf(sorted, 0.2), quantileOf(sorted, 0.4), quantileOf(sorted, 0.8)]
  const noiseOffset = quantileOf(
    sampled(variance, (_, i) => y[i]! <= dark),
    0.2,
  )
  const slopes = new Float32Array(y.length)
  for (let i = 0; i < y.length; i++) slopes[i] = (variance[i]! - noiseOffset) / y[i]!
  const noiseScale = quantileOf(
    sampled(slopes, (_, i) => y[i]! > Math.max(low, 0) && y[i]! <= high),
    0.1,
  )
  return { noiseOffset, noiseScale: Math.max(0, noiseScale) }
}
