import { CELL_FLOATS, LEVEL_BINS } from '#core/kernels'
import type { NoiseTerm } from '#core/sensor'
import { binShift } from './clip-level.ts'
import { type FourPhases, type LevelFrame, phasesOf } from './level-frame.ts'

/** Stops below clipping that are told apart; what lies deeper, or at black, is in the last entry. */
export const STOPS = 16

/**
 * Share of a picture at each level, 0..1: entry k from k+1 to k stops below clipping, the last all that is deeper. Clipped
 * samples are in none, so the entries and the clipped share add up to 1.
 */
export type StopShares = readonly number[]

export interface SceneStops {
  readonly r: StopShares
  readonly g: StopShares
  readonly b: StopShares
  /** Of the mean of each 2 × 2 block of the mosaic. */
  readonly luma: StopShares
}

/** A sample this many times its own noise stands in its own stop to within a sixth of a stop. */
const CLEAR = 8
/** Cells that dark shares are spread by: enough for a share of 1 %. */
const MOST_CELLS = 9_000

/** The signal at which one sample is `ratio` times its noise: x = ratio·√(scale·x + offset). */
export function signalAt(term: NoiseTerm, ratio: number): number {
  const q = ratio * ratio
  return (q * term.scale + Math.sqrt(q * q * term.scale ** 2 + 4 * q * term.offset)) / 2
}

const stopOf = (level: number) =>
  level > 0 ? Math.min(STOPS - 1, Math.max(0, Math.floor(-Math.log2(level)))) : STOPS - 1

interface Source {
  /** Counts of codes, LEVEL_BINS of them. */
  readonly counts: readonly Uint32Array[]
  /** Black, and codes from black to clipping, one for each table of counts. */
  readonly black: readonly number[]
  readonly span: readonly number[]
  /** Mean of a cell over its own black, and whether it holds clipped samples. */
  readonly cell: (at: number) => number
  readonly clear: number
}

/**
 * Levels of a mosaic in stops. Bright levels are counted sample by sample, so that a lamp of a few pixels is in them. Where
 * one sample drowns in noise, counting samples would show the noise: the share that lies there is spread by
 * the means of cells of 16 × 16 pixels, whose noise is an eighth.
 */
export function sceneStops(
  frame: LevelFrame,
  tables: Uint32Array,
  cells: Float32Array,
  clip: FourPhases,
  noise: readonly NoiseTerm[],
): SceneStops {
  const table = (k: number) => tables.subarray(k * LEVEL_BINS, (k + 1) * LEVEL_BINS)
  const spanOf = (phase: number) => clip[phase]! - frame.black[phase]!
  const colour = (c: 0 | 1 | 2) => {
    const phases = phasesOf(frame.cfa, c)
    return sharesOf(frame, cells, {
      counts: phases.map(table),
      black: phases.map((p) => frame.black[p]!),
      span: phases.map(spanOf),
      cell: (at) => phases.reduce((s, p) => s + (cells[at + p]! - frame.black[p]!) / spanOf(p), 0) / phases.length,
      clear: (signalAt(noise[c]!, CLEAR) * frame.range) / spanOf(phases[0]!),
    })
  }
  const all = [0, 1, 2, 3] as const
  const mean = (of: (p: number) => number) => all.reduce((s: number, p) => s + of(p), 0) / 4
  const span = mean(spanOf)
  const luma = sharesOf(frame, cells, {
    counts: [table(4)],
    black: [mean((p) => frame.black[p]!)],
    span: [span],
    cell: (at) => mean((p) => cells[at + p]! - frame.black[p]!) / span,
    // Four samples: half the noise.
    clear: (signalAt(noise[1]!, CLEAR / 2) * frame.range) / span,
  })
  return { r: colour(0), g: colour(1), b: colour(2), luma }
}

function sharesOf(frame: LevelFrame, cells: Float32Array, s: Source): StopShares {
  const shares = new Float64Array(STOPS)
  const step = 2 ** binShift(frame.white)
  let total = 0
  let dark = 0
  s.counts.forEach((counts, k) => {
    for (let bin = 0; bin < LEVEL_BINS; bin++) {
      const n = counts[bin]!
      if (n === 0) continue
      total += n
      const level = ((bin + 0.5) * step - 0.5 - s.black[k]!) / s.span[k]!
      // A bin that reaches to the limit is clipped, as the samples are that stand on it.
      if ((bin + 1) * step - 1 >= s.span[k]! + s.black[k]!) continue
      if (level < s.clear) dark += n
      else shares[stopOf(level)]! += n
    }
  })
  if (dark > 0) spreadDark(shares, cells, s, dark)
  return Array.from(shares, (v) => (total > 0 ? v / total : 0))
}

function spreadDark(shares: Float64Array, cells: Float32Array, s: Source, dark: number): void {
  const deep = new Float64Array(STOPS)
  let sum = 0
  // An odd step, so that no column of cells is left out.
  const step = CELL_FLOATS * (Math.floor(cells.length / CELL_FLOATS / MOST_CELLS) | 1)
  for (let at = 0; at < cells.length; at += step) {
    const level = s.cell(at)
    if (level >= s.clear) continue
    deep[stopOf(level)]! += 1
    sum++
  }
  // Dark samples in bright cells only: they lie just under what is clear.
  if (sum === 0) shares[stopOf(s.clear)]! += dark
  else for (let k = 0; k < STOPS; k++) shares[k]! += (dark * deep[k]!) / sum
}

/** Entries of `buriedShares`. */
const MORE_STOPS = 6

/**
 * Share of cells whose mean green lies below the level at which one sample equals its noise: light that only merging can
 * find. Entry n is what would be left with n stops more light, 0 to 6.
 */
export function buriedShares(frame: LevelFrame, cells: Float32Array, noise: NoiseTerm): readonly number[] {
  const phases = phasesOf(frame.cfa, 1)
  const bar = signalAt(noise, 1)
  const buried = new Array<number>(MORE_STOPS + 1).fill(0)
  for (let at = 0; at < cells.length; at += CELL_FLOATS) {
    let level = 0
    for (const p of phases) level += (cells[at + p]! - frame.black[p]!) / frame.range
    level /= phases.length
    for (let n = 0; n <= MORE_STOPS && level < bar; n++, level *= 2) buried[n]! += 1
  }
  return buried.map((n) => (cells.length > 0 ? n / (cells.length / CELL_FLOATS) : 0))
}
