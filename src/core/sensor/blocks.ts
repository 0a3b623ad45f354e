import type { Region } from '#core/pixels'

/** A block is 16 × 16 samples of one colour, 32 × 32 pixels of the mosaic. */
const SIDE = 16
export const BLOCK_PIXELS = 2 * SIDE

/**
 * What a block says about noise. `variance` comes from a second difference both ways (Immerkær 1996, "Fast noise
 * variance estimation"), which is blind to planes and to straight level or upright edges; `coarse` is the same from means of 2 × 2: equal for white
 * noise, larger where there is texture, since pictures hold more power at lower frequencies.
 */
export interface BlockNoise {
  readonly mean: Float64Array
  readonly variance: Float64Array
  readonly coarse: Float64Array
  /** 0 to 3, the place in the 2 × 2 pattern. */
  readonly phase: Uint8Array
  readonly count: number
}

/** Relative standard deviation of a block's `variance` for white noise: 14² residuals count as 14²/(70/36)² = 52. */
export const VARIANCE_SPREAD = 0.196
/** The same for `coarse`: 6² residuals count as 9.5. */
export const COARSE_SPREAD = 0.46

export interface Mosaic {
  /** Linear stored codes, black not subtracted; width × height, row by row. */
  readonly samples: Uint16Array
  readonly width: number
  readonly height: number
  /** Black of the four phases of `region`, row order, in codes. */
  readonly black: readonly [number, number, number, number]
  /** Saturated level in codes. */
  readonly white: number
  /** The exposed area; its top-left is phase 0. */
  readonly region: Region
}

/**
 * Up to `most` blocks spread evenly over the region, the four phases in turn; blocks with a sample near white, or with
 * samples at code 0 (clipped dark: their variance is cut short), are passed over. Values are over white − largest black.
 */
export function sampleBlocks(mosaic: Mosaic, most: number): BlockNoise {
  const { samples, width, region } = mosaic
  const across = Math.floor(region.width / BLOCK_PIXELS)
  const down = Math.floor(region.height / BLOCK_PIXELS)
  const total = across * down
  const step = Math.max(1, total / most)
  const capacity = Math.ceil(total / step)
  const mean = new Float64Array(capacity)
  const variance = new Float64Array(capacity)
  const coarse = new Float64Array(capacity)
  const range = mosaic.white - Math.max(...mosaic.black)
  const ceiling = mosaic.white - 0.03 * range
  const phases = new Uint8Array(capacity)
  const block = new Float64Array(SIDE * SIDE)
  const work = new Float64Array(SIDE * SIDE)
  const quarter = new Float64Array((SIDE * SIDE) / 4)
  let count = 0
  for (let k = 0; k < capacity; k++) {
    const at = Math.floor(k * step)
    const phase = k & 3
    const row = region.y + Math.floor(at / across) * BLOCK_PIXELS + (phase >> 1)
    const column = region.x + (at % across) * BLOCK_PIXELS + (phase & 1)
    const sum = gather(samples, width, row, column, ceiling, block)
    if (sum < 0) continue
    halve(block, quarter)
    mean[count] = (sum / (SIDE * SIDE) - mosaic.black[phase]!) / range
    variance[count] = secondDifference(block, SIDE, work) / (range * range)
    coarse[count] = secondDifference(quarter, SIDE / 2, work) / (4 * range * range)
    phases[count] = phase
    count++
  }
  return { mean, variance, coarse, phase: phases, count }
}

/** The blocks of one phase alone. */
export function blocksOfPhase(blocks: BlockNoise, phase: number): BlockNoise {
  const own = (values: Float64Array) => values.subarray(0, blocks.count).filter((_, i) => blocks.phase[i] === phase)
  const mean = own(blocks.mean)
  const [variance, coarse] = [own(blocks.variance), own(blocks.coarse)]
  return { mean, variance, coarse, phase: new Uint8Array(mean.length).fill(phase), count: mean.length }
}

/** Copies one colour's samples; their sum, or −1 when one is at 0 or near white. */
function gather(samples: Uint16Array, width: number, row: number, column: number, ceiling: number, to: Float64Array) {
  let sum = 0
  let n = 0
  for (let r = 0; r < SIDE; r++) {
    let i = (row + 2 * r) * width + column
    for (let c = 0; c < SIDE; c++, i += 2) {
      const v = samples[i]!
      if (v === 0 || v >= ceiling) return -1
      to[n++] = v
      sum += v
    }
  }
  return sum
}

/** Sums of 2 × 2 samples. */
function halve(from: Float64Array, to: Float64Array): void {
  const half = SIDE / 2
  for (let r = 0; r < half; r++)
    for (let c = 0; c < half; c++) {
      const i = 2 * r * SIDE + 2 * c
      to[r * half + c] = from[i]! + from[i + 1]! + from[i + SIDE]! + from[i + SIDE + 1]!
    }
}

/** Mean square of the mask (1 −2 1)ᵀ(1 −2 1) over a square of samples, over 36: the variance of white noise. */
function secondDifference(from: Float64Array, side: number, work: Float64Array): number {
  const inner = side - 2
  for (let r = 0; r < side; r++)
    for (let c = 0; c < inner; c++) {
      const i = r * side + c
      work[i] = from[i]! - 2 * from[i + 1]! + from[i + 2]!
    }
  let sum = 0
  for (let r = 0; r < inner; r++)
    for (let c = 0; c < inner; c++) {
      const i = r * side + c
      const h = work[i]! - 2 * work[i + side]! + work[i + 2 * side]!
      sum += h * h
    }
  return sum / (36 * inner * inner)
}
