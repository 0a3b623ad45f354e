import { median, quantile } from '#core/base'
import type { Residual } from './compare.ts'

/** Bands that lamps on alternating current lay over a frame that is read row by row. */
export interface Flicker {
  /** The lamps' frequency times the time from row to row. */
  readonly cyclesPerRow: number
  readonly rowsPerCycle: number
  /** Frequency in hertz where the time from row to row is known. */
  readonly hertz: number | null
  /** How far the light of lit places swings to either side of its mean, 0..1. */
  readonly depth: number
  /** How much the band stands out over other frequencies; 1 = surely no chance, 0 = as much as chance. */
  readonly confidence: number
}

/** Cycles over the height of the picture: below, a band cannot be told from a slope. */
const FEWEST_CYCLES = 1.5
/** Columns of the picture that are looked at apart: lamps on another phase of the mains band elsewhere. */
const PARTS = 8
/** Depths under this are lost among other changes of a scene. */
const LEAST_DEPTH = 0.015
/** How far the power at the peak has to stand above that of other frequencies. */
const PROMINENT = 12

interface Profile {
  readonly value: Float64Array
  readonly weight: Float64Array
}

/**
 * Looks for bands in what a frame has beyond the others of its bracket (`residualOf`): the ratio row by row, in eight parts across, over lit
 * places; then a sine of each frequency fitted to each part, their power summed over the parts. The model: light of row y is
 * 1 + m·sinc(f·t)·cos(2π f·y·t_row + φ) times its mean. A steady scene has no line among its frequencies. Null when none is
 * found or the frame has too few lit cells.
 */
export function flickerOf(residual: Residual, cellRows: number, rowSeconds: number | null): Flicker | null {
  const { rows } = residual
  if (rows < 24) return null
  const profiles = partsOf(residual)
  if (profiles.length === 0) return null
  const power: number[] = []
  const cycles: number[] = []
  // A quarter of a cycle over the height resolves every frequency; two cells a cycle is the end.
  for (let c = FEWEST_CYCLES; c <= rows / 2.2; c += 0.25) {
    cycles.push(c)
    power.push(profiles.reduce((s, p) => s + waveOf(p, c / rows).power, 0))
  }
  const top = power.indexOf(Math.max(...power))
  const others = power.filter((_, i) => {
    const apart = cycles[i]! / cycles[top]!
    return (apart < 0.7 || apart > 1.4) && Math.abs(cycles[i]! - cycles[top]!) > 1
  })
  // Power of noise alone is spread as a sum over the parts; its upper tail is what the peak has to beat.
  const background = Math.max(median(others), 1e-12)
  const tail = Math.max(quantile(others, 0.98), 1e-12)
  const prominence = power[top]! / background
  const frequency = refine(profiles, cycles[top]! / rows, rows)
  const depths = profiles.map((p) => waveOf(p, frequency).amplitude).sort((a, b) => b - a)
  const depth = Math.min(1, median(depths.slice(0, Math.max(1, depths.length >> 1))))
  if (!(prominence > PROMINENT && power[top]! > 3 * tail && depth > LEAST_DEPTH)) return null
  const cyclesPerRow = frequency / cellRows
  return {
    cyclesPerRow,
    rowsPerCycle: 1 / cyclesPerRow,
    hertz: rowSeconds === null ? null : cyclesPerRow / rowSeconds,
    depth,
    confidence: 1 - PROMINENT / prominence,
  }
}

/** Relative departure row by row, in parts across the picture; slopes and bends taken out. */
function partsOf({ columns, rows, expected, over, spread }: Residual): Profile[] {
  const levels = [...expected].filter(Number.isFinite)
  if (levels.length < 200) return []
  const lit = median(levels)
  const profiles: Profile[] = []
  for (let part = 0; part < PARTS; part++) {
    const value = new Float64Array(rows)
    const weight = new Float64Array(rows)
    const [from, to] = [Math.floor((part * columns) / PARTS), Math.floor(((part + 1) * columns) / PARTS)]
    for (let y = 0; y < rows; y++) {
      const row: number[] = []
      let sum = 0
      for (let x = from; x < to; x++) {
        const i = y * columns + x
        const level = expected[i]!
        const noise = spread[i]! / level
        if (!(level >= lit && noise < 0.1) || !Number.isFinite(over[i]!)) continue
        row.push(over[i]! / level)
        sum += 1 / (noise * noise + 0.01 ** 2)
      }
      if (row.length < 2) continue
      // The middle of a row: a car that passed is in a few cells.
      value[y] = median(row)
      weight[y] = sum
    }
    if (weight.filter((w) => w > 0).length >= 0.5 * rows) profiles.push(withoutTrend({ value, weight }))
  }
  return profiles
}

/** Weighted parabola taken out; weights evened so that no bright row speaks for all. */
function withoutTrend(p: Profile): Profile {
  const cap = 3 * median([...p.weight].filter((w) => w > 0))
  const weight = p.weight.map((w) => Math.min(w, cap))
  const n = p.value.length
  const basis = [0, 1, 2].map((d) => p.value.map((_, y) => ((2 * y) / n - 1) ** d))
  // Gram–Schmidt under the weights.
  const value = p.value.slice()
  const done: Float64Array[] = []
  const dot = (a: Float64Array, b: Float64Array) => a.reduce((s, v, i) => s + weight[i]! * v * b[i]!, 0)
  for (const b of basis) {
    const own = b.slice()
    for (const d of done) subtract(own, d, dot(own, d) / dot(d, d))
    subtract(value, own, dot(value, own) / dot(own, own))
    done.push(own)
  }
  // Robust: a row far off (a tram, a sign that changed) says no more than one three deviations off.
  const known = [...value].filter((_, i) => weight[i]! > 0).map(Math.abs)
  const limit = 4 * 1.4826 * median(known) + 1e-9
  return { value: value.map((v) => Math.min(Math.max(v, -limit), limit)), weight }
}

function subtract(from: Float64Array, what: Float64Array, share: number): void {
  for (let i = 0; i < from.length; i++) from[i] = from[i]! - share * what[i]!
}

/** The sine of a frequency (cycles a cell row) that fits a profile best: its amplitude, and what it explains. */
function waveOf({ value, weight }: Profile, frequency: number) {
  let [cc, cs, ss, c, s] = [0, 0, 0, 0, 0]
  const turn = 2 * Math.PI * frequency
  for (let y = 0; y < value.length; y++) {
    const w = weight[y]!
    if (w === 0) continue
    const a = Math.cos(turn * y)
    const b = Math.sin(turn * y)
    cc += w * a * a
    cs += w * a * b
    ss += w * b * b
    c += w * a * value[y]!
    s += w * b * value[y]!
  }
  const determinant = cc * ss - cs * cs
  if (!(determinant > 1e-9 * cc * ss)) return { amplitude: 0, power: 0 }
  const p = (c * ss - s * cs) / determinant
  const q = (s * cc - c * cs) / determinant
  // A cell averages over its rows: what is lost of the swing is given back.
  const kept = Math.abs(Math.sin(Math.PI * frequency) / (Math.PI * frequency))
  return { amplitude: Math.hypot(p, q) / kept, power: p * c + q * s }
}

/** The frequency of greatest power near `start`, by halving steps. */
function refine(profiles: readonly Profile[], start: number, rows: number): number {
  const powerAt = (f: number) => profiles.reduce((s, p) => s + waveOf(p, f).power, 0)
  let best = start
  for (let step = 0.12 / rows; step > 0.002 / rows; step /= 2) {
    for (const f of [best - step, best + step]) if (powerAt(f) > powerAt(best)) best = f
  }
  return best
}
