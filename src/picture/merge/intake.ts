import type { Address, Crew, Task } from '#core/kernels'
import type { BlackLevel, RawFile } from '#picture/raw'
import type { MergeFrame } from './types.ts'

/** A raw file whose whole raw area stands decoded at `at`, interleaved. */
export interface DecodedFrame {
  readonly raw: RawFile
  readonly at: Address
}

/** The active area inside raw samples that lie at `from`, rows of `rawWidth`. */
interface ActiveArea {
  readonly from: Address
  readonly rawWidth: number
  readonly x: number
  readonly y: number
  readonly width: number
  readonly height: number
}

/** Where the active area starts in black levels and colours, and how it is to be moved. */
interface IntakeParams {
  readonly frames: readonly (ActiveArea & {
    /** Null when the four phases say all there is to say of black. */
    readonly black: BlackLevel | null
    readonly base: number
  })[]
}

const simple = (b: BlackLevel) => b.repeatRows <= 2 && b.repeatColumns <= 2 && !b.deltaColumns && !b.deltaRows

/** Black at an active-area position, DNG 1.6 chapter 4: repeating pattern plus column and row deltas. */
function blackAt(b: BlackLevel, x: number, y: number, samples: number, sample: number): number {
  const pattern = b.values[((y % b.repeatRows) * b.repeatColumns + (x % b.repeatColumns)) * samples + sample] ?? 0
  return pattern + (b.deltaColumns?.[x] ?? 0) + (b.deltaRows?.[y] ?? 0)
}

/** The largest black of one sample anywhere: what the divisor takes off the white level (DNG 1.6 chapter 5). */
function largestBlack(raw: RawFile, sample: number): number {
  const b = raw.black
  const pattern = Math.max(...b.values.filter((_, i) => i % raw.samplesPerPixel === sample))
  const most = (d: readonly number[] | null) => (d ? d.reduce((a, v) => Math.max(a, v), Number.NEGATIVE_INFINITY) : 0)
  if (simple(b)) return pattern
  return pattern + most(b.deltaColumns) + most(b.deltaRows)
}

/**
 * Moves the active area to the front of the frame's memory, row by row, and levels black patterns that four phases cannot
 * say: each sample is shifted by the difference to the largest black, rounded to a whole code.
 */
export const intakeTask: Task = ({ memory }, p: IntakeParams, item) => {
  const f = p.frames[item]!
  const all = memory.u16(f.from, f.rawWidth * (f.y + f.height))
  for (let y = 0; y < f.height; y++) {
    const from = (f.y + y) * f.rawWidth + f.x
    const to = y * f.width
    all.copyWithin(to, from, from + f.width)
    if (!f.black) continue
    for (let x = 0; x < f.width; x++) {
      all[to + x] = Math.min(65535, Math.max(0, Math.round(all[to + x]! + f.base - blackAt(f.black, x, y, 1, 0))))
    }
  }
}

interface SplitParams extends ActiveArea {
  readonly to: Address
}

const ROWS = 64

/** Interleaved samples of the active area to three planes. */
export const splitTask: Task = ({ memory }, p: SplitParams, item) => {
  const from = memory.u16(p.from, p.rawWidth * (p.y + p.height) * 3)
  const size = p.width * p.height
  const to = memory.u16(p.to, size * 3)
  for (let y = item * ROWS; y < Math.min(p.height, (item + 1) * ROWS); y++) {
    let i = ((p.y + y) * p.rawWidth + p.x) * 3
    const o = y * p.width
    for (let x = 0; x < p.width; x++, i += 3) {
      to[o + x] = from[i]!
      to[size + o + x] = from[i + 1]!
      to[2 * size + o + x] = from[i + 2]!
    }
  }
}

/** Black and range of the phases (mosaic) or planes (three samples a pixel). */
function levels(raw: RawFile): Pick<MergeFrame, 'black' | 'range'> {
  if (raw.samplesPerPixel === 3) {
    const black = [0, 1, 2].map((s) => largestBlack(raw, s))
    const range = black.map((b, s) => (raw.white[s] ?? raw.white[0]!) - b)
    return { black: [black[0]!, black[1]!, black[2]!, 0], range: [range[0]!, range[1]!, range[2]!, 1] }
  }
  const most = largestBlack(raw, 0)
  const range = raw.white[0]! - most
  const at = (x: number, y: number) => (simple(raw.black) ? blackAt(raw.black, x, y, 1, 0) : Math.round(most))
  return { black: [at(0, 0), at(1, 0), at(0, 1), at(1, 1)], range: [range, range, range, range] }
}

/**
 * Makes mosaics ready to merge, in place. Returns each frame's levels; its samples then stand at `at`, width × height of
 * the active area.
 */
export async function takeInMosaics(
  crew: Crew,
  frames: readonly DecodedFrame[],
): Promise<Pick<MergeFrame, 'at' | 'black' | 'range'>[]> {
  const work = frames.filter(
    ({ raw }) => raw.activeArea.width !== raw.width || raw.activeArea.height !== raw.height || !simple(raw.black),
  )
  const params: IntakeParams = {
    frames: work.map(({ raw, at }) => ({
      from: at,
      rawWidth: raw.width,
      ...raw.activeArea,
      black: simple(raw.black) ? null : raw.black,
      base: Math.round(largestBlack(raw, 0)),
    })),
  }
  await crew.run('merge.intake', params, work.length)
  return frames.map(({ raw, at }) => ({ at, ...levels(raw) }))
}

/** Makes a picture of three interleaved samples ready to merge as three planes at `to` (which must not overlap it). */
export async function takeInPlanes(
  crew: Crew,
  { raw, at }: DecodedFrame,
  to: Address,
): Promise<Pick<MergeFrame, 'at' | 'black' | 'range'>> {
  const params: SplitParams = { from: at, rawWidth: raw.width, ...raw.activeArea, to }
  await crew.run('merge.split', params, Math.ceil(raw.activeArea.height / ROWS))
  return { at: to, ...levels(raw) }
}

interface CurveParams {
  /** Interleaved 8-bit codes. */
  readonly from: Address
  readonly pixels: number
  /** Three tables of 256 u16. */
  readonly tables: Address
  readonly to: Address
  /** When two colours have this code or more, the third counts as saturated too; 256 for never. */
  readonly saturatedTogether: number
}

const CHUNK = 1 << 18

export const curveTask: Task = ({ memory }, p: CurveParams, item) => {
  const first = item * CHUNK
  const last = Math.min(p.pixels, first + CHUNK)
  const from = memory.u8(p.from, p.pixels * 3)
  for (let c = 0; c < 3; c++) {
    const table = memory.u16(p.tables + c * 512, 256)
    const to = memory.u16(p.to + c * p.pixels * 2, p.pixels)
    for (let i = first, j = first * 3 + c; i < last; i++, j += 3) to[i] = table[from[j]!]!
  }
  const bar = p.saturatedTogether
  if (bar > 255) return
  const full = [0, 1, 2].map((c) => memory.u16(p.tables + c * 512, 256)[255]!)
  const planes = [0, 1, 2].map((c) => memory.u16(p.to + c * p.pixels * 2, p.pixels))
  for (let i = first, j = first * 3; i < last; i++, j += 3) {
    const over = Number(from[j]! >= bar) + Number(from[j + 1]! >= bar) + Number(from[j + 2]! >= bar)
    if (over < 2) continue
    for (let c = 0; c < 3; c++) planes[c]![i] = full[c]!
  }
}

/**
 * Codes of a finished picture through the three response tables, to three planes at `to`. A camera that saturates in two
 * colours draws the third toward white: with `saturatedTogether` such a pixel is taken for saturated as a whole, so that
 * a shorter exposure says what colour it has.
 */
export async function takeInRendered(
  crew: Crew,
  from: Address,
  pixels: number,
  tables: Address,
  to: Address,
  saturatedTogether: number,
): Promise<void> {
  const params: CurveParams = { from, pixels, tables, to, saturatedTogether }
  await crew.run('merge.curve', params, Math.ceil(pixels / CHUNK))
}
