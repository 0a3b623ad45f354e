import { fitLine, median, quantile } from '#core/base'
import { GRAIN_COARSE_SPREAD, GRAIN_FLOATS, GRAIN_SPREAD } from '#core/kernels'
import { electronsOf, type NoiseTerm, varianceAt } from '#core/sensor'
import { COLOURS, type FourPhases, type LevelFrame, phasesOf } from './level-frame.ts'

/** The noise of one colour: variance = scale·x + offset, x = 1 at white. */
export interface NoiseMeasure {
  readonly term: NoiseTerm
  /** Standard errors, as shares of scale and offset. */
  readonly scaleError: number
  readonly offsetError: number
  readonly fullWellElectrons: number
  /** Rounding to codes taken out; null when no part was dark enough to tell it to 5 %. */
  readonly readElectrons: number | null
  /** Codes an electron. */
  readonly gain: number
  /** Where the line is surest: the weighted mean signal of the blocks. */
  readonly level: number
  readonly blocks: number
}

/** What a frame adds to a weighted line through blocks: Σw, Σwx, Σwy, Σwx², Σwxy. Sums of several frames can be added. */
export interface LineSums {
  readonly w: number
  readonly x: number
  readonly y: number
  readonly xx: number
  readonly xy: number
  readonly blocks: number
  /** Codes from black to white. */
  readonly range: number
}

const FEWEST = 64
const PASSES = 5
/** Relative standard errors below which scale and offset count as read; half of it is that of the read noise. */
const SURE = 0.1
/** Texture that escapes adds about this share to the variance of a picture's blocks; what hangs on less is not told. */
const TEXTURE_SHARE = 0.01
/** Full wells of 100 to 200,000 electrons: beyond these the fit has failed. */
const SCALES = [1 / 200_000, 1 / 100] as const
/** Blocks near saturation: their noise is cut short. */
const CEILING = 0.97

const COARSE_LIMIT = 1 + 1.2 * GRAIN_COARSE_SPREAD

interface Grains {
  readonly x: Float64Array
  readonly variance: Float64Array
  readonly coarse: Float64Array
  readonly count: number
}

/** The blocks of the given phases that hold no clipped sample and none at code 0, in units of white − black. */
function grainsOf(frame: LevelFrame, blocks: Float32Array, clip: FourPhases, phases: readonly number[]): Grains {
  const most = (blocks.length / GRAIN_FLOATS) * phases.length
  const [x, variance, coarse] = [new Float64Array(most), new Float64Array(most), new Float64Array(most)]
  const unit = 1 / frame.range
  let count = 0
  for (let at = 0; at < blocks.length; at += GRAIN_FLOATS)
    for (const p of phases) {
      const ceiling = frame.black[p]! + CEILING * (clip[p]! - frame.black[p]!)
      if (blocks[at + 12 + p] === 0 || blocks[at + 16 + p]! >= ceiling) continue
      x[count] = (blocks[at + p]! - frame.black[p]!) * unit
      variance[count] = blocks[at + 4 + p]! * unit * unit
      coarse[count] = blocks[at + 8 + p]! * unit * unit
      count++
    }
  return { x, variance, coarse, count }
}

/**
 * The noise of one frame from blocks of 32 × 32 pixels (kernel `grainBlocks`), one result for each colour: cameras that multiply
 * red or blue before writing have one line per colour. After Foi et al. 2008, "Practical Poissonian–Gaussian noise
 * modeling and fitting for single-image raw-data": local means and variances of smooth blocks lie on a line. A block
 * counts when both of its bands agree with the line, and the line is fitted to them by weights 1/variance², again and
 * again. Null where fewer than 64 blocks are smooth and unclipped.
 */
export function frameGrain(frame: LevelFrame, blocks: Float32Array, clip: FourPhases): readonly (LineSums | null)[] {
  return COLOURS.map((c) => fitLines(grainsOf(frame, blocks, clip, phasesOf(frame.cfa, c)), frame.range))
}

function fitLines(grains: Grains, range: number): LineSums | null {
  const floor = 1 / (12 * range * range)
  let term = startingLine(grains, floor)
  let sums: LineSums | null = null
  for (let pass = 0; term && pass < PASSES; pass++) {
    sums = sumsOf(grains, term, range)
    if (sums.blocks < FEWEST) return null
    term = solve(sums, floor)
  }
  return sums
}

function sumsOf(g: Grains, term: NoiseTerm, range: number): LineSums {
  let [w, x, y, xx, xy, count] = [0, 0, 0, 0, 0, 0]
  for (let i = 0; i < g.count; i++) {
    const level = Math.max(g.x[i]!, 0)
    const expected = term.scale * level + term.offset
    // Barely more than one deviation on the side of texture: the bands are nearly independent, so this does not bend the variance.
    if (g.coarse[i]! > COARSE_LIMIT * expected) continue
    const variance = g.variance[i]!
    if (Math.abs(variance - expected) > 3 * GRAIN_SPREAD * expected) continue
    const weight = 1 / (GRAIN_SPREAD * GRAIN_SPREAD * expected * expected)
    w += weight
    x += weight * level
    y += weight * variance
    xx += weight * level * level
    xy += weight * level * variance
    count++
  }
  return { w, x, y, xx, xy, blocks: count, range }
}

function solve(s: LineSums, floor: number): NoiseTerm {
  const spread = s.xx - (s.x * s.x) / s.w
  const slope = spread > 0 ? (s.xy - (s.x * s.y) / s.w) / spread : 0
  const scale = Math.min(Math.max(slope, SCALES[0]), SCALES[1])
  return { scale, offset: Math.max((s.y - scale * s.x) / s.w, floor) }
}

/**
 * One line through the blocks of one or more frames of the same colour, camera and ISO: short frames say the read noise,
 * long ones the slope. Null when the light is too even or too little to tell the slope to 10 %, or the frames' ranges differ.
 */
export function noiseOfGrain(frames: readonly (LineSums | null)[]): NoiseMeasure | null {
  const known = frames.filter((m) => m !== null)
  const range = known[0]?.range
  if (range === undefined || known.some((m) => m.range !== range)) return null
  const add = (key: keyof LineSums) => known.reduce((sum, m) => sum + m[key], 0)
  const s: LineSums = {
    w: add('w'),
    x: add('x'),
    y: add('y'),
    xx: add('xx'),
    xy: add('xy'),
    blocks: add('blocks'),
    range,
  }
  const floor = 1 / (12 * range * range)
  const term = solve(s, floor)
  const spread = Math.max(s.xx - (s.x * s.x) / s.w, 0)
  const scaleError = spread > 0 ? 1 / (Math.sqrt(spread) * term.scale) : Number.POSITIVE_INFINITY
  if (!(scaleError < SURE) || term.scale <= SCALES[0] || term.scale >= SCALES[1]) return null
  // The offset hangs on the slope as far as the typical block is bright: texture there would be read as read noise.
  const hidden = (TEXTURE_SHARE * s.y) / s.w
  const offsetError = Math.hypot(Math.sqrt(1 / s.w + (s.x / s.w) ** 2 / spread), hidden) / term.offset
  const { fullWellElectrons } = electronsOf(term)
  // Read noise below the rounding cannot be told from it.
  const told = offsetError < SURE && term.offset > 1.5 * floor
  const readElectrons = told ? Math.sqrt(term.offset - floor) * fullWellElectrons : null
  const level = s.x / s.w
  return {
    ...{ term, scaleError, offsetError, fullWellElectrons, readElectrons, level, blocks: s.blocks },
    gain: range / fullWellElectrons,
  }
}

/** Through the typical block of sixteen groups by brightness, of blocks that look white; groups off by a third lose their say. */
function startingLine(g: Grains, floor: number): NoiseTerm | null {
  const white: number[] = []
  for (let i = 0; i < g.count; i++)
    if (g.variance[i]! > floor / 4 && g.coarse[i]! < 2 * g.variance[i]! && g.x[i]! > 0) white.push(i)
  if (white.length < FEWEST) return null
  thin(white, 1200)
  white.sort((a, b) => g.x[a]! - g.x[b]!)
  const groups = Array.from({ length: 16 }, (_, k) =>
    white.slice(Math.floor((k * white.length) / 16), Math.floor(((k + 1) * white.length) / 16)),
  )
  const at = (values: Float64Array, q: number) =>
    groups.map((members) =>
      quantile(
        members.map((i) => values[i]!),
        q,
      ),
    )
  const x = at(g.x, 0.5)
  const y = at(g.variance, 0.35)
  const within = (scale: number) => Math.min(Math.max(Number.isFinite(scale) ? scale : SCALES[0], SCALES[0]), SCALES[1])
  let term: NoiseTerm = { scale: within(median(y.map((v, k) => v / x[k]!))), offset: floor }
  for (let pass = 0; pass < PASSES; pass++) {
    const weight = x.map((v, k) => {
      const expected = varianceAt(term, v)
      return 1 / (expected * expected * (1 + ((y[k]! / expected - 1) / 0.33) ** 2))
    })
    const line = fitLine(x, y, weight)
    if (line.intercept > floor) term = { scale: within(line.slope), offset: line.intercept }
    else {
      const sxx = x.reduce((s, v, k) => s + weight[k]! * v * v, 0)
      const sxy = x.reduce((s, v, k) => s + weight[k]! * v * (y[k]! - floor), 0)
      term = { scale: within(sxy / sxx), offset: floor }
    }
  }
  return term
}

/** Leaves about `most` evenly spread entries. */
function thin(list: number[], most: number): void {
  const step = list.length / most
  if (step <= 1) return
  for (let k = 0; k < most; k++) list[k] = list[Math.floor(k * step)]!
  list.length = most
}

/** How measured noise stands to a file's own profile, colour by colour. */
export interface ProfileComparison {
  /** Measured standard deviation over the profile's, at the level where the measured one is surest; null where nothing was measured. */
  readonly ratio: readonly [number | null, number | null, number | null]
  readonly agrees: boolean
}

/** Standard deviations that differ by more than this are told: a stop of ISO is 41 %, a camera that smooths 20 to 50 %. */
const PROFILE_AGREES = 0.15

/** Compares with the file's profile; null when there is no profile or nothing was measured. */
export function compareProfile(
  measured: readonly (NoiseMeasure | null)[],
  profile: readonly NoiseTerm[] | null,
): ProfileComparison | null {
  if (!profile || measured.every((m) => m === null)) return null
  const ratio = measured.map((m, c) => {
    if (!m) return null
    return Math.sqrt(varianceAt(m.term, m.level) / varianceAt(profile[c]!, m.level))
  }) as unknown as ProfileComparison['ratio']
  return { ratio, agrees: ratio.every((r) => r === null || Math.abs(r - 1) <= PROFILE_AGREES) }
}
