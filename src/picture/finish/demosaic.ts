import { median, overLimit, quantile, robustSpread, unsupported } from '#core/base'
import { type Address, type Crew, demosaicScratchBytes, SCRATCH_BYTES, type Task } from '#core/kernels'
import { type CfaPattern, cfaName, isBayer } from '#core/pixels'

/** Rows an item of work: each repeats the first stages for 20 rows of its neighbours, so not too few. */
const STRIP_ROWS = 128
/** Toe of the encoding, in standard deviations of the noise at black: wide enough that noise is not bent there. */
const TOE_DEVIATIONS = 2
/** Sites along each side of the sample from which the noise at black is measured. */
const SAMPLE_SIDE = 96

/** A Bayer mosaic in the shared memory and where its three colours go; all width × height floats, tightly packed. */
export interface MosaicPicture {
  readonly mosaic: Address
  readonly width: number
  readonly height: number
  readonly cfa: CfaPattern
  readonly red: Address
  readonly green: Address
  readonly blue: Address
  /** Floats from row to row of the three planes, ≥ width; the width when absent. */
  readonly stride?: number
  /**
   * Scene-linear samples (the default) are demosaiced in an encoding of their own. Samples that are already encoded in
   * about equal steps of lightness, such as those of a photograph, are taken as they are.
   */
  readonly values?: 'scene-linear' | 'encoded'
  /** Standard deviation of the samples at black, in their own unit; measured from the mosaic when absent. */
  readonly noiseFloor?: number
}

interface DemosaicParams {
  readonly mosaic: Address
  readonly width: number
  readonly height: number
  readonly phase: number
  readonly toe: number
  readonly red: Address
  readonly green: Address
  readonly blue: Address
  readonly stride: number
}

export const demosaicTask: Task = ({ kernels, scratch }, p: DemosaicParams, item) => {
  const y0 = item * STRIP_ROWS
  const y1 = Math.min(y0 + STRIP_ROWS, p.height)
  kernels.demosaicRows(p.mosaic, p.width, p.height, y0, y1, p.phase, p.toe, p.red, p.green, p.blue, p.stride, scratch)
}

/**
 * Gives every site its three colours; measured samples come back as they are, whatever their sign or size. Finite
 * samples only. Throws `unsupported` "cfa-pattern" for a pattern that is not one of the four Bayer phases and
 * "mosaic-size" for a side under 2; `limit` "mosaic-width" when a row does not fit a worker's scratch memory.
 */
export async function demosaic(crew: Crew, picture: MosaicPicture): Promise<void> {
  const { mosaic, width, height, cfa, red, green, blue, stride = width } = picture
  if (!isBayer(cfa)) throw unsupported('cfa-pattern', { pattern: cfaName(cfa) })
  if (width < 2 || height < 2) throw unsupported('mosaic-size', { width, height })
  if (demosaicScratchBytes(width) > SCRATCH_BYTES) throw overLimit('mosaic-width', { width })
  const params: DemosaicParams = {
    mosaic,
    width,
    height,
    phase: cfa.indexOf(0),
    toe: picture.values === 'encoded' ? 0 : toeOf(crew, picture),
    red,
    green,
    blue,
    stride,
  }
  await crew.run('finish.demosaic', params, Math.ceil(height / STRIP_ROWS))
}

function toeOf(crew: Crew, { mosaic, width, height, noiseFloor }: MosaicPicture): number {
  return TOE_DEVIATIONS * (noiseFloor ?? noiseAtBlack(crew.arena.f32(mosaic, width * height), width, height))
}

/**
 * The spread of the samples in the darkest quarter of a mosaic, from second differences of equal colour along the row:
 * for independent noise of standard deviation σ, m₋₂ − 2m₀ + m₊₂ has √6 σ. Median absolute deviation, so that edges do
 * not count; never under 10⁻⁴ of the picture's median. Scales with the picture.
 */
export function noiseAtBlack(mosaic: Float32Array, width: number, height: number): number {
  const rows = Math.min(height, SAMPLE_SIDE)
  const columns = Math.min(width - 4, SAMPLE_SIDE)
  const levels: number[] = []
  const bends: number[] = []
  for (let j = 0; j < rows; j++) {
    const y = Math.floor((j * height) / rows)
    for (let i = 0; i < columns; i++) {
      const at = y * width + 2 + Math.floor((i * (width - 4)) / columns)
      const [a, b, c] = [mosaic[at - 2]!, mosaic[at]!, mosaic[at + 2]!]
      levels.push((a + b + c) / 3)
      bends.push(a - 2 * b + c)
    }
  }
  const dark = quantile(levels, 0.25)
  const spread = robustSpread(bends.filter((_, i) => levels[i]! <= dark)) / Math.sqrt(6)
  const floor = 1e-4 * Math.abs(median(levels))
  const noise = Math.max(Number.isFinite(spread) ? spread : 0, Number.isFinite(floor) ? floor : 0)
  // A picture of nothing but zeros: any encoding will do, and some is needed.
  return noise > 0 ? noise : 1
}
