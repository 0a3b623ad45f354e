import type { Crew, Task } from '#core/kernels'
import { type BaseLayer, boxMean, guidedBase } from './guided.ts'
import type { RadiancePlanes } from './planes.ts'

const CELL_FLOATS = 8
const CELL_BYTES = CELL_FLOATS * 4
const MOMENT_BYTES = 8

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

interface MomentsParams extends CellsParams {
  readonly floor: number
}

/** The moments of one row of cells. */
export const momentsTask: Task = ({ kernels }, p: MomentsParams, item) => {
  const skip = item * p.step * p.stride * 4
  const rows = Math.min(p.step, p.height - item * p.step)
  const out = p.out + item * Math.ceil(p.width / p.step) * MOMENT_BYTES
  kernels.printMoments(p.r + skip, p.g + skip, p.b + skip, p.width, rows, p.stride, p.step, p.floor, out)
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
  /** Stops of the median luminance: under p50 by as much as the scene is colourful. */
  readonly middleLuminance: number
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
  /** The edge-aware base of the pixels' log2 norm. */
  readonly base: BaseLayer
  /** R / Y and B / Y of each cell's neighbourhood, 0..MAX. */
  readonly rhoR: Float32Array
  readonly rhoB: Float32Array
  /** Norms are held above this: 14 stops under the median, or where noise rules. Below it the print is linear. */
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
/** The floor in deviations of chroma noise: about one deviation of luminance when the channels' noise is equal. */
const FLOOR_DEVIATIONS = 0.4

const luminance = (r: number, g: number, b: number) => 0.2126 * r + 0.7152 * g + 0.0722 * b

function norm(r: number, g: number, b: number): number {
  const x = Math.max(r, 0)
  const y = Math.max(g, 0)
  const z = Math.max(b, 0)
  const squares = x * x + y * y + z * z
  return squares > 0 ? (x * x * x + y * y * y + z * z * z) / squares : 0
}

/**
 * Reduces the planes by the crew and measures them. Twice this thread reckons alone, for some 40 ms; `besides` may start a
 * step for the crew to do meanwhile.
 */
export async function measureScene(
  crew: Crew,
  planes: RadiancePlanes,
  besides: () => Promise<void> = async () => {},
): Promise<Scene> {
  const { width, height } = planes
  const step = Math.max(8, Math.round(Math.max(width, height) / CELLS_LONG_SIDE / 8) * 8)
  const columns = Math.ceil(width / step)
  const rows = Math.ceil(height / step)
  const count = columns * rows
  const mark = crew.arena.mark()
  try {
    const out = crew.arena.alloc(count * CELL_BYTES)
    const params: CellsParams = { ...planes, step, out }
    await crew.run('finish.cells', params, rows)
    const first = besides()
    const cells = cellsOf(crew.arena.f32(out, count * CELL_FLOATS))
    await first
    await crew.run('finish.moments', { ...params, floor: cells.floor } satisfies MomentsParams, rows)
    const second = besides()
    const base = baseOf(crew.arena.f32(out, count * 2), columns, rows, cells.floor)
    const chroma = neighbourhoodChroma(cells, columns, rows)
    await second
    const { floor, statistics } = cells
    return { width, height, step, columns, rows, base, ...chroma, floor, statistics }
  } finally {
    crew.arena.release(mark)
  }
}

interface Cells {
  readonly r: Float32Array
  readonly g: Float32Array
  readonly b: Float32Array
  readonly floor: number
  readonly statistics: SceneStatistics
}

function cellsOf(cells: Float32Array): Cells {
  const count = cells.length / CELL_FLOATS
  const planes = Array.from({ length: 7 }, () => new Float32Array(count))
  const [r, g, b, variance, peaks, norms, luminances] = planes as [
    Float32Array,
    Float32Array,
    Float32Array,
    Float32Array,
    Float32Array,
    Float32Array,
    Float32Array,
  ]
  // A sample that is no number (a hostile or broken file) must not reach running sums.
  const number = (v: number) => (Number.isFinite(v) ? v : 0)
  for (let i = 0, k = 0; i < count; i++, k += CELL_FLOATS) {
    r[i] = number(cells[k]!)
    g[i] = number(cells[k + 1]!)
    b[i] = number(cells[k + 2]!)
    variance[i] = number(cells[k + 3]!)
    peaks[i] = number(cells[k + 4]!)
    norms[i] = norm(r[i]!, g[i]!, b[i]!)
    luminances[i] = luminance(r[i]!, g[i]!, b[i]!)
  }
  const byNorm = sampled(norms)
  const middle = quantileOf(byNorm.subarray(byNorm.findIndex((n) => n > 0)), 0.5)
  if (!(middle > 0)) return { r, g, b, floor: 2 ** -FLOOR_STOPS, statistics: noLight }
  const byLuminance = sampled(luminances)
  const noise = chromaNoise(luminances, byLuminance, variance)
  const floor = Math.max(middle * 2 ** -FLOOR_STOPS, FLOOR_DEVIATIONS * Math.sqrt(noise.noiseOffset))
  const stops = (sorted: Float32Array, q: number) => Math.log2(Math.max(quantileOf(sorted, q), floor))
  const statistics: SceneStatistics = {
    p005: stops(byNorm, 0.005),
    p02: stops(byNorm, 0.02),
    p25: stops(byNorm, 0.25),
    p50: stops(byNorm, 0.5),
    p75: stops(byNorm, 0.75),
    p98: stops(byNorm, 0.98),
    p999: stops(byNorm, 0.999),
    middleLuminance: stops(byLuminance, 0.5),
    peak: stops(sampled(peaks), 0.999),
    ...noise,
  }
  return { r, g, b, floor, statistics }
}

function baseOf(moments: Float32Array, columns: number, rows: number, floor: number): BaseLayer {
  const count = columns * rows
  const mean = new Float32Array(count)
  const square = new Float32Array(count)
  for (let i = 0; i < count; i++) {
    const m = moments[i * 2]!
    const s = moments[i * 2 + 1]!
    const good = Number.isFinite(m) && Number.isFinite(s)
    mean[i] = good ? m : 0
    square[i] = good ? s : 0
  }
  const radius = Math.max(2, Math.round(Math.max(columns, rows) * BASE_RADIUS_SHARE))
  const { a, b } = guidedBase({ width: columns, height: rows, mean, square }, radius, TEXTURE_STOPS)
  // From stops above the floor to log2: base = a (s − f) + b + f.
  const f = Math.log2(floor)
  for (let i = 0; i < count; i++) b[i]! += f * (1 - a[i]!)
  return { a, b }
}

/** A picture without light: anchored at 1, so that it prints black. */
const noLight: SceneStatistics = {
  p005: 0,
  p02: 0,
  p25: 0,
  p50: 0,
  p75: 0,
  p98: 0,
  p999: 0,
  middleLuminance: 0,
  peak: 0,
  noiseScale: 0,
  noiseOffset: 0,
}

function neighbourhoodChroma(cells: Cells, width: number, height: number): { rhoR: Float32Array; rhoB: Float32Array } {
  const mean = (data: Float32Array) => boxMean({ width, height, data }, 1).data
  const [r, g, b] = [mean(cells.r), mean(cells.g), mean(cells.b)]
  const rhoR = new Float32Array(r.length).fill(1)
  const rhoB = new Float32Array(r.length).fill(1)
  for (let i = 0; i < r.length; i++) {
    const y = luminance(r[i]!, g[i]!, b[i]!)
    if (y <= cells.floor) continue
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

/** The lower envelope of chroma variance against luminance: even cells hold noise alone, textured ones more. */
function chromaNoise(y: Float32Array, sorted: Float32Array, variance: Float32Array) {
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
