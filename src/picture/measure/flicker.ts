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

/** Cycles over the height of the picture: with fewer, a band cannot be told from a sky that darkens. */
const FEWEST_CYCLES = 2.5
/** Where the search begins, so that a slope shows itself as one: its power goes on growing below. */
const FIRST_CYCLES = 1.5
/** Two kilohertz at a thirtieth of a second from top to bottom: faster lamps average out in any shutter time. */
const MOST_CYCLES = 64
/** A line is one cycle wide in the whole height and two in a half: this meets every one. */
const STEP_CYCLES = 0.6
/** Columns of the picture that are looked at apart: lamps on another phase of the mains band elsewhere. */
const PARTS = 6
/** Depths under this are lost among other changes of a scene. */
const LEAST_DEPTH = 0.015
/** How far the power at the peak has to stand above that of other frequencies. */
const PROMINENT = 12
/** Cells by which frames may stay aside of each other after their drift is taken out: parallax, turns. */
const ASIDE = 0.25
/** What is assumed where the drift could not be told. */
const UNKNOWN_DRIFT = [2, 2] as const
/** Relative noise of a cell that is clear enough to show a band. */
const CLEAR = 0.1

interface Profile {
  readonly value: Float64Array
  readonly weight: Float64Array
  /** Orthonormal under the weights. */
  readonly trend: readonly Float64Array[]
  readonly first: number
  readonly last: number
}

/**
 * Looks for bands in what a frame has beyond the others of its bracket (`residualOf`): the ratio row by row, in six parts across, over lit
 * places; then a sine of each frequency fitted to each part, their power summed over the parts. The model: light of row y is
 * 1 + m·sinc(f·t)·cos(2π f·y·t_row + φ) times its mean. A steady scene has no line among its frequencies. Null when none is
 * found or the frame has too few lit cells.
 */
export function flickerOf(residual: Residual, cellRows: number, rowSeconds: number | null): Flicker | null {
  const { rows } = residual
  if (rows < 24) return null
  const parts = partsOf(residual)
  if (parts.length === 0) return null
  const profiles = parts.map((p) => p.beyond)
  const scene = parts.map((p) => p.scene)
  const power: number[] = []
  const cycles: number[] = []
  for (let c = FIRST_CYCLES; c <= Math.min(MOST_CYCLES, rows / 2.2); c += STEP_CYCLES) {
    cycles.push(c)
    power.push(powerAt(profiles, c / rows, rows))
  }
  const top = power.indexOf(Math.max(...power))
  if (cycles[top]! < FEWEST_CYCLES) return null
  const others = power.filter((_, i) => {
    const apart = cycles[i]! / cycles[top]!
    return (apart < 0.7 || apart > 1.4) && Math.abs(cycles[i]! - cycles[top]!) > 1
  })
  // Power of noise alone is spread as a sum over the parts; its upper tail is what the peak has to beat.
  const background = Math.max(median(others), 1e-12)
  const tail = Math.max(quantile(others, 0.98), 1e-12)
  const prominence = power[top]! / background
  const frequency = refine(profiles, cycles[top]! / rows, rows)
  const turns = turnsOf(frequency, rows)
  const depths = profiles.map((p) => waveOf(p, turns).amplitude).sort((a, b) => b - a)
  const depth = Math.min(1, median(depths.slice(0, Math.max(1, depths.length >> 1))))
  if (!(prominence > PROMINENT && power[top]! > 3 * tail && depth > LEAST_DEPTH)) return null
  // Rows of windows that do not quite lie on each other: at most twice the sine of half the turn that is left between them.
  const aside = ASIDE + 0.15 * Math.hypot(...(residual.drift ?? UNKNOWN_DRIFT))
  const own = scene.map((p) => waveOf(p, turns).amplitude).sort((a, b) => b - a)
  const windows = 2 * Math.sin(Math.PI * Math.min(0.5, frequency * aside)) * median(own.slice(0, (own.length + 1) >> 1))
  if (depth < 2 * windows) return null
  const cyclesPerRow = frequency / cellRows
  return {
    cyclesPerRow,
    rowsPerCycle: 1 / cyclesPerRow,
    hertz: rowSeconds === null ? null : cyclesPerRow / rowSeconds,
    depth,
    confidence: 1 - PROMINENT / prominence,
  }
}

/** Relative departure row by row, and the scene's own relative light, in parts across the picture and in halves of its height. */
function partsOf({ columns, rows, expected, over, spread }: Residual): { beyond: Profile; scene: Profile }[] {
  const profiles: { beyond: Profile; scene: Profile }[] = []
  for (let part = 0; part < PARTS; part++) {
    const value = new Float64Array(rows)
    const level = new Float64Array(rows)
    const weight = new Float64Array(rows)
    const [from, to] = [Math.floor((part * columns) / PARTS), Math.floor(((part + 1) * columns) / PARTS)]
    for (let y = 0; y < rows; y++) {
      const row: number[] = []
      let [light, sum] = [0, 0]
      for (let i = y * columns + from; i < y * columns + to; i++) {
        const own = expected[i]!
        const noise = spread[i]! / own
        if (!(own > 0 && noise < CLEAR) || !Number.isFinite(over[i]!)) continue
        row.push(over[i]! / own)
        light += own
        sum += 1 / (noise * noise + 0.01 ** 2)
      }
      if (row.length < 2) continue
      // The middle of a row: a car that passed is in a few cells.
      row.sort((p, q) => p - q)
      value[y] = 0.5 * (row[(row.length - 1) >> 1]! + row[row.length >> 1]!)
      level[y] = light / row.length
      weight[y] = sum
    }
    // The sky does not flicker: with it in the whole height, the streets below are seen in their own half.
    const middle = rows >> 1
    for (const [first, last, bends] of [
      [0, rows, 2],
      [0, middle, 1],
      [middle, rows, 1],
    ] as const) {
      const seen = [...level.subarray(first, last)].filter((v) => v > 0)
      if (seen.length < 0.5 * (last - first)) continue
      const mean = seen.reduce((s, v) => s + v, 0) / seen.length
      const within = weight.map((w, y) => (y >= first && y < last ? w : 0))
      const own = level.map((v) => (v > 0 ? v / mean - 1 : 0))
      profiles.push({
        beyond: withoutTrend(value, within, bends, first, last),
        scene: withoutTrend(own, within, bends, first, last),
      })
    }
  }
  return profiles
}

/** A profile with a line (bends 1) or a parabola (bends 2) taken out, and what it takes to do the same to a sine. */
function withoutTrend(value: Float64Array, of: Float64Array, bends: number, first: number, last: number): Profile {
  // Weights evened, so that no bright row speaks for all.
  const cap = 3 * median([...of].filter((w) => w > 0))
  const weight = of.map((w) => Math.min(w, cap))
  const n = value.length
  const trend: Float64Array[] = []
  for (let degree = 0; degree <= bends; degree++) {
    const own = value.map((_, y) => ((2 * y) / n - 1) ** degree)
    for (const t of trend) subtract(own, t, dot(own, t, weight))
    const length = Math.sqrt(dot(own, own, weight))
    trend.push(own.map((v) => v / length))
  }
  const rest = value.slice()
  for (const t of trend) subtract(rest, t, dot(rest, t, weight))
  // A row far off (a tram, a sign that changed) says no more than one four deviations off.
  const limit = 4 * 1.4826 * median([...rest].filter((_, i) => weight[i]! > 0).map(Math.abs)) + 1e-9
  return { value: rest.map((v) => Math.min(Math.max(v, -limit), limit)), weight, trend, first, last }
}

function dot(a: Float64Array, b: Float64Array, weight: Float64Array): number {
  let sum = 0
  for (let i = 0; i < a.length; i++) sum += weight[i]! * a[i]! * b[i]!
  return sum
}

function subtract(from: Float64Array, what: Float64Array, share: number): void {
  for (let i = 0; i < from.length; i++) from[i] = from[i]! - share * what[i]!
}

interface Turns {
  readonly frequency: number
  readonly cos: Float64Array
  readonly sin: Float64Array
}

function turnsOf(frequency: number, rows: number): Turns {
  const turn = 2 * Math.PI * frequency
  const cos = Float64Array.from({ length: rows }, (_, y) => Math.cos(turn * y))
  return { frequency, cos, sin: cos.map((_, y) => Math.sin(turn * y)) }
}

/**
 * The sine of a frequency (cycles a cell row) that fits a profile best beside its trend: its amplitude, and what it
 * explains. Without the trend in the fit, few cycles would be taken for part of it.
 */
function waveOf({ value, weight, trend, first, last }: Profile, { frequency, cos, sin }: Turns) {
  let [cc, cs, ss, c, s] = [0, 0, 0, 0, 0]
  for (let y = first; y < last; y++) {
    const wa = weight[y]! * cos[y]!
    const wb = weight[y]! * sin[y]!
    cc += wa * cos[y]!
    cs += wa * sin[y]!
    ss += wb * sin[y]!
    c += wa * value[y]!
    s += wb * value[y]!
  }
  const own = cc * ss
  for (const t of trend) {
    let [ta, tb] = [0, 0]
    for (let y = first; y < last; y++) {
      ta += weight[y]! * cos[y]! * t[y]!
      tb += weight[y]! * sin[y]! * t[y]!
    }
    cc -= ta * ta
    cs -= ta * tb
    ss -= tb * tb
  }
  const determinant = cc * ss - cs * cs
  if (!(determinant > 0.02 * own)) return { amplitude: 0, power: 0 }
  const p = (c * ss - s * cs) / determinant
  const q = (s * cc - c * cs) / determinant
  // A cell averages over its rows: what is lost of the swing is given back.
  const kept = Math.abs(Math.sin(Math.PI * frequency) / (Math.PI * frequency))
  return { amplitude: Math.hypot(p, q) / kept, power: p * c + q * s }
}

const powerAt = (profiles: readonly Profile[], frequency: number, rows: number) => {
  const turns = turnsOf(frequency, rows)
  return profiles.reduce((s, p) => s + waveOf(p, turns).power, 0)
}

/** The frequency of greatest power near `start`, by halving steps. */
function refine(profiles: readonly Profile[], start: number, rows: number): number {
  let best = start
  let most = powerAt(profiles, start, rows)
  for (let step = 0.25 / rows; step > 0.004 / rows; step /= 2) {
    for (const f of [best - step, best + step]) {
      const power = powerAt(profiles, f, rows)
      if (power > most) [best, most] = [f, power]
    }
  }
  return best
}
