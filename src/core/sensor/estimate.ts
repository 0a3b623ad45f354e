import { fitLine, median, quantile } from '#core/base'
import type { Region } from '#core/pixels'
import { type BlockNoise, blocksOfPhase, COARSE_SPREAD, type Mosaic, sampleBlocks, VARIANCE_SPREAD } from './blocks.ts'
import { type NoiseTerm, varianceAt } from './noise.ts'

export interface NoiseEstimate {
  /** One term per phase of the 2 × 2 pattern, row order from the region's top-left; all the same where they agree. */
  readonly phases: readonly [NoiseTerm, NoiseTerm, NoiseTerm, NoiseTerm]
  /** Where the offset was read: areas without light, dark parts of the picture, or nowhere (3 electrons assumed). */
  readonly offsetFrom: 'masked-areas' | 'dark-areas' | 'assumed'
  /** Blocks seen without clipping, and those smooth enough to count. */
  readonly blocksSeen: number
  readonly blocksUsed: number
}

const MOST_BLOCKS = 6144
const FEWEST_BLOCKS = 64
/** Phases whose scales agree this well are one sensor and share one line: what sets them apart is the fit. */
const PHASES_AGREE = 0.15
const PASSES = 8
/** Read noise in electrons when the picture cannot tell: the middle of what small sensors have (about 1.5 to 6). */
const ASSUMED_READ_ELECTRONS = 3
/** Undetected texture may add this share to a block's variance; an offset that hangs on less was not read. */
const TEXTURE_SHARE = 0.03
/** Full wells from 100 electrons (a small pixel at high gain) to 200,000: beyond these the fit has failed. */
const SCALE_RANGE = [1 / 200_000, 1 / 100] as const
const READ_ELECTRONS_RANGE = [0.2, 60] as const

/**
 * The noise of a sensor from one picture, for files that carry no noise profile. The idea is Foi et al. 2008
 * ("Practical Poissonian–Gaussian noise modeling and fitting for single-image raw-data"): local means and variances of
 * smooth blocks lie on a line. Here the variance is that of a second difference, smoothness is judged in another band
 * (so that choosing does not bias), and the line is fitted with weights 1/variance² and outliers clipped, a few times
 * over. Phases are fitted apart, since some cameras multiply red or blue before they write the file, and share one line
 * where they agree. Null when fewer than 64 smooth unclipped blocks exist. A picture that is textured everywhere reads
 * too noisy.
 */
export function estimateNoise(mosaic: Mosaic, masked: readonly Region[] = []): NoiseEstimate | null {
  const blocks = sampleBlocks(mosaic, MOST_BLOCKS)
  const range = mosaic.white - Math.max(...mosaic.black)
  const floor = 1 / (12 * range * range)
  const dark = maskedVariance(mosaic, masked)
  const all = fitBlocks(blocks, dark, floor)
  const apart = [0, 1, 2, 3].map((phase) => fitBlocks(blocksOfPhase(blocks, phase), dark, floor))
  const known = apart.filter((f) => f !== null)
  const typical = median(known.map((f) => f.term.scale))
  const agree = known.every((f) => Math.abs(f.term.scale / typical - 1) < PHASES_AGREE)
  const [first, second, third, fourth] = apart.map((f) => (all && agree ? all : (f ?? all)))
  if (!first || !second || !third || !fourth) return null
  const used = all && agree ? [all] : [first, second, third, fourth]
  const weakest = (['assumed', 'dark-areas', 'masked-areas'] as const).find((o) => used.some((f) => f.offsetFrom === o))
  return {
    phases: [first.term, second.term, third.term, fourth.term],
    offsetFrom: weakest ?? 'assumed',
    blocksSeen: blocks.count,
    blocksUsed: used.reduce((sum, f) => sum + f.used, 0),
  }
}

interface BlockFit {
  readonly term: NoiseTerm
  readonly offsetFrom: NoiseEstimate['offsetFrom']
  readonly used: number
}

function fitBlocks(blocks: BlockNoise, dark: number | null, floor: number): BlockFit | null {
  const start = startingLine(blocks, dark, floor)
  if (!start) return null
  let term = start
  let fit: WeightedLine | null = null
  for (let pass = 0; pass < PASSES; pass++) {
    fit = lineThrough(blocks, term, dark)
    if (fit.used < FEWEST_BLOCKS) return null
    term = plausible(fit, dark, floor)
  }
  if (!fit) return null
  const offsetFrom = dark !== null ? 'masked-areas' : fit.offsetError < 0.4 * fit.offset ? 'dark-areas' : 'assumed'
  if (offsetFrom === 'assumed') term = withAssumedRead(blocks, term, floor)
  return { term, offsetFrom, used: fit.used }
}

/**
 * Starting line, through the typical block of sixteen groups by brightness. Only blocks that look white are asked: texture
 * and areas clipped below the stated white (a plateau, or a ramp where the camera brightened a plateau) have more power
 * in the coarse band. Groups off the line by more than a third lose their say.
 */
function startingLine(blocks: BlockNoise, dark: number | null, floor: number): NoiseTerm | null {
  const white = Array.from({ length: blocks.count }, (_, i) => i)
    .filter(
      (i) => blocks.variance[i]! > floor / 4 && blocks.coarse[i]! < 2 * blocks.variance[i]! && blocks.mean[i]! > 0,
    )
    .sort((a, b) => blocks.mean[a]! - blocks.mean[b]!)
  if (white.length < FEWEST_BLOCKS) return null
  const groups = 16
  const x: number[] = []
  const y: number[] = []
  for (let g = 0; g < groups; g++) {
    const members = white.slice(Math.floor((g * white.length) / groups), Math.floor(((g + 1) * white.length) / groups))
    x.push(
      quantile(
        members.map((i) => blocks.mean[i]!),
        0.5,
      ),
    )
    y.push(
      quantile(
        members.map((i) => blocks.variance[i]!),
        0.35,
      ),
    )
  }
  let term = plausible({ scale: median(y.map((v, g) => v / x[g]!)), offset: floor }, dark, floor)
  for (let pass = 0; pass < PASSES; pass++) {
    const expected = x.map((v) => varianceAt(term, v))
    const weight = expected.map((e, g) => 1 / (e * e * (1 + ((y[g]! / e - 1) / 0.33) ** 2)))
    const line = fitLine(x, y, weight)
    const known = dark ?? Math.max(line.intercept, floor)
    const scale = dark === null && line.intercept > floor ? line.slope : slopeFrom(x, y, weight, known)
    term = plausible({ scale, offset: known }, dark, floor)
  }
  return term
}

/** Slope of the weighted line with a given offset, never below the plausible. */
function slopeFrom(x: ArrayLike<number>, y: ArrayLike<number>, weight: ArrayLike<number>, offset: number): number {
  let sxy = 0
  let sxx = 0
  for (let i = 0; i < x.length; i++) {
    sxy += weight[i]! * x[i]! * (y[i]! - offset)
    sxx += weight[i]! * x[i]! * x[i]!
  }
  return Math.max(sxx > 0 ? sxy / sxx : 0, SCALE_RANGE[0])
}

interface WeightedLine extends NoiseTerm {
  readonly offsetError: number
  readonly used: number
}

/** One pass: the blocks that agree with `term` in both bands, and the weighted line through them. */
function lineThrough(blocks: BlockNoise, term: NoiseTerm, dark: number | null): WeightedLine {
  const x: number[] = []
  const y: number[] = []
  const weight: number[] = []
  for (let i = 0; i < blocks.count; i++) {
    const expected = varianceAt(term, blocks.mean[i]!)
    if (blocks.coarse[i]! > expected * (1 + 2 * COARSE_SPREAD)) continue
    if (Math.abs(blocks.variance[i]! / expected - 1) > 3 * VARIANCE_SPREAD) continue
    x.push(Math.max(blocks.mean[i]!, 0))
    y.push(blocks.variance[i]!)
    weight.push(1 / (VARIANCE_SPREAD * expected) ** 2)
  }
  if (dark !== null) return { scale: slopeFrom(x, y, weight, dark), offset: dark, offsetError: 0, used: x.length }
  const { slope, intercept } = fitLine(x, y, weight)
  const hidden = TEXTURE_SHARE * slope * quantile(x, 0.05)
  return { scale: slope, offset: intercept, offsetError: Math.hypot(interceptError(x, weight), hidden), used: x.length }
}

/** Standard error of a weighted line's intercept: √(1/Σw + x̄²/Σw(x−x̄)²). */
function interceptError(x: readonly number[], weight: readonly number[]): number {
  const total = weight.reduce((s, w) => s + w, 0)
  const mean = x.reduce((s, v, i) => s + weight[i]! * v, 0) / total
  const spread = x.reduce((s, v, i) => s + weight[i]! * (v - mean) ** 2, 0)
  return Math.sqrt(1 / total + mean ** 2 / spread)
}

function plausible(line: NoiseTerm, dark: number | null, floor: number): NoiseTerm {
  const sound = Number.isFinite(line.scale) ? line.scale : SCALE_RANGE[0]
  const scale = Math.min(Math.max(sound, SCALE_RANGE[0]), SCALE_RANGE[1])
  if (dark !== null) return { scale, offset: dark }
  const least = Math.max(floor, (READ_ELECTRONS_RANGE[0] * scale) ** 2)
  const most = Math.max(least, (READ_ELECTRONS_RANGE[1] * scale) ** 2)
  return { scale, offset: Math.min(Math.max(Number.isFinite(line.offset) ? line.offset : least, least), most) }
}

/** The slope that goes with the assumed read noise; both depend on each other, so a few turns. */
function withAssumedRead(blocks: BlockNoise, start: NoiseTerm, floor: number): NoiseTerm {
  let term = start
  for (let pass = 0; pass < PASSES; pass++) {
    const offset = Math.max((ASSUMED_READ_ELECTRONS * term.scale) ** 2, floor)
    const { scale } = lineThrough(blocks, { scale: term.scale, offset }, offset)
    term = { scale: Math.min(scale, SCALE_RANGE[1]), offset }
  }
  return term
}

/** Variance of areas that saw no light, over white − black; null when none is large enough. */
function maskedVariance(mosaic: Mosaic, masked: readonly Region[]): number | null {
  const { samples, width, height } = mosaic
  const range = mosaic.white - Math.max(...mosaic.black)
  let sum = 0
  let n = 0
  for (const area of masked) {
    const right = Math.min(area.x + area.width, width)
    const bottom = Math.min(area.y + area.height, height)
    // Second differences along the rows of one colour (norm² = 6); a wide area is read in part.
    const rowStep = Math.max(1, Math.floor((area.height * area.width) / 500_000))
    for (let r = Math.max(area.y, 0); r < bottom; r += rowStep)
      for (let i = r * width + Math.max(area.x, 0); i < r * width + right - 4; i++) {
        const h = samples[i]! - 2 * samples[i + 2]! + samples[i + 4]!
        if (samples[i] === 0 || samples[i + 2] === 0 || samples[i + 4] === 0) continue
        // A hot pixel is no read noise; eight times what the sum so far says is no read noise either.
        if (n > 1000 && h * h > (64 * sum) / n) continue
        sum += h * h
        n++
      }
  }
  return n >= 2000 ? Math.max(sum / (6 * n), 1 / 12) / (range * range) : null
}
