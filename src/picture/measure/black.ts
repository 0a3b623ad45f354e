import { median, quantile, robustSpread } from '#core/base'
import { CELL_FLOATS } from '#core/kernels'
import type { Region } from '#core/pixels'
import type { NoiseTerm } from '#core/sensor'
import type { LevelFrame } from './level-frame.ts'

const MOST_SAMPLES = 40_000
const FEWEST_SAMPLES = 2_000
/** Hot pixels and dead ones: left out at either end. */
const TRIM = 0.005

/**
 * Mean of the masked areas less the stated black, hot pixels left out; null when they are too small. `samples` is the whole
 * raw area with rows of `width`; `blackAt` gives the stated black at a place of it.
 */
export function maskedBlack(
  samples: Uint16Array,
  width: number,
  areas: readonly Region[],
  blackAt: (x: number, y: number) => number,
): { readonly offsetCodes: number; readonly errorCodes: number } | null {
  const total = areas.reduce((n, a) => n + a.width * a.height, 0)
  if (total < FEWEST_SAMPLES) return null
  // An odd step walks through all phases of the pattern.
  const step = Math.floor(total / MOST_SAMPLES) | 1
  const over: number[] = []
  for (const a of areas)
    for (let k = 0; k < a.width * a.height; k += step) {
      const x = a.x + (k % a.width)
      const y = a.y + Math.floor(k / a.width)
      const v = samples[y * width + x]
      if (v !== undefined && x < width) over.push(v - blackAt(x, y))
    }
  if (over.length < FEWEST_SAMPLES / 2) return null
  const kept = over.sort((p, q) => p - q).slice(Math.floor(TRIM * over.length), Math.ceil((1 - TRIM) * over.length))
  const mean = kept.reduce((s, v) => s + v, 0) / kept.length
  const spread = Math.sqrt(kept.reduce((s, v) => s + (v - mean) ** 2, 0) / kept.length)
  return { offsetCodes: mean, errorCodes: spread / Math.sqrt(kept.length) }
}

/**
 * The most that black can stand above the stated one: the darkest half per cent of cells, and three standard deviations of
 * a cell's noise. Below −1 the stated black is too high.
 */
export function darkestCells(frame: LevelFrame, cells: Float32Array, noise: NoiseTerm): number {
  const over: number[] = []
  const step = CELL_FLOATS * Math.max(1, Math.floor(cells.length / CELL_FLOATS / 5_000))
  for (let at = 0; at < cells.length; at += step) {
    let sum = 0
    for (let p = 0; p < 4; p++) sum += cells[at + p]! - frame.black[p]!
    over.push(sum / 4)
  }
  return quantile(over, 0.005) + (3 * Math.sqrt(noise.offset) * frame.range) / 16
}

/** Rows that stand above or below their neighbours as a whole, beyond what noise explains. */
export interface RowBanding {
  /** Standard deviation of a row's offset in codes; 0 when there is none to be seen. */
  readonly codes: number
  /** What could just be seen in this frame, in codes. */
  readonly leastCodes: number
}

const ROWS = 128
const PARTS = 16

/**
 * Offset of single rows: a row less the mean of its neighbours of the same colours, in sixteen parts along it. What most
 * parts share is the row's own; their scatter says how well it is known. Edges and lamps are in few parts and fall out of
 * the median. Null for pictures of fewer than 16 rows or 64 columns.
 */
export function rowBanding(samples: Uint16Array, width: number, height: number): RowBanding | null {
  if (height < 16 || width < 64) return null
  const count = Math.min(ROWS, height - 8)
  const part = Math.floor(width / PARTS)
  const shared: number[] = []
  const scatter: number[] = []
  const means = new Float64Array(PARTS)
  for (let k = 0; k < count; k++) {
    const y = 2 + Math.floor((k * (height - 5)) / count)
    const row = y * width
    for (let s = 0; s < PARTS; s++) {
      let sum = 0
      for (let i = row + s * part; i < row + (s + 1) * part; i++)
        sum += samples[i]! - 0.5 * (samples[i - 2 * width]! + samples[i + 2 * width]!)
      means[s] = sum / part
    }
    shared.push(median(means))
    // The median of sixteen is 1.25 times less sure than their mean.
    scatter.push((1.25 * robustSpread(means)) / Math.sqrt(PARTS))
  }
  const known = median(scatter)
  // A row and two halves: one and a half times a row's variance.
  const variance = (robustSpread(shared) ** 2 - known ** 2) / 1.5
  // 128 rows tell a variance to an eighth: over three times that is no chance.
  const leastCodes = known * Math.sqrt((0.4 * Math.sqrt(ROWS / count)) / 1.5)
  const codes = Math.sqrt(Math.max(variance, 0))
  return { codes: codes > leastCodes ? codes : 0, leastCodes }
}
