import { type Address, CELL, CELL_FLOATS, GRAIN_FLOATS, GRAIN_SIDE, LEVEL_BINS, type TaskContext } from '#core/kernels'
import { cfaAt, type Orientation } from '#core/pixels'
import type { NoiseTerm } from '#core/sensor'
import { darkestCells, type RowBanding, rowBanding } from './black.ts'
import { binShift, clipLevels } from './clip-level.ts'
import { COLOURS, type FourPhases, type LevelFrame, type PerColour, perColour } from './level-frame.ts'
import {
  compareProfile,
  frameGrain,
  type LineSums,
  type NoiseMeasure,
  noiseOfGrain,
  type ProfileComparison,
} from './noise.ts'
import { buriedShares, type SceneStops, sceneStops } from './scene-stops.ts'
import { type Tilt, tiltOf } from './tilt.ts'

/** What the levels of one frame say; plain data, so that it can cross a thread as JSON. */
export interface FrameLevels {
  /** Levels of a rendered picture went through a camera's tone curve: shares of it are not shares of a raw frame. */
  readonly basis: 'raw' | 'rendered'
  readonly width: number
  readonly height: number
  /** Shares of each colour's samples at saturation, 0..1. */
  readonly clipped: PerColour
  /** True when a colour saturates below the file's white level. */
  readonly clipsEarly: boolean
  readonly stops: SceneStops
  /**
   * Share of the picture in which one green sample is no larger than its noise; entry n is the share that would be left
   * with n stops more light, 0 to 6. Rendered: where green's code is 3 or less, and only entry 0.
   */
  readonly buried: readonly number[]
  /** Null for rendered pictures, whose noise has been worked on. */
  readonly noise: FrameNoise | null
  /** How far the true black can stand above the stated one at most, in codes; null for rendered pictures. */
  readonly blackAtMostCodes: number | null
  readonly banding: RowBanding | null
  readonly tilt: Tilt | null
}

export interface FrameNoise {
  /** Red, green, blue; null where the frame cannot tell. */
  readonly measured: readonly (NoiseMeasure | null)[]
  /** For pooling with other frames of the same ISO. */
  readonly grain: readonly (LineSums | null)[]
  readonly profile: ProfileComparison | null
  /** The noise by which other measures judge, green, and where it is from. */
  readonly used: NoiseTerm
  readonly source: 'file' | 'measured' | 'assumed'
}

export interface LevelRequest {
  readonly frame: LevelFrame
  readonly orientation: Orientation
  readonly gimbalRoll: number | null
  /** Where the light of cells goes, `lightGrid(width, height).cells` f32: what brackets are compared by. */
  readonly light: Address
}

const cellsOf = (width: number, height: number) => Math.ceil(width / CELL) * Math.ceil(height / CELL)

/** At most this many cells across are compared: bands run along the rows, so cells may be wide. */
const MOST_ACROSS = 96

/** The grid of a frame's light: cells of `cellRows` rows and whole multiples of as many columns; odd ones at the right are left out. */
export function lightGrid(width: number, height: number) {
  const fine = Math.ceil(width / CELL)
  const pooled = Math.ceil(fine / MOST_ACROSS)
  const columns = Math.max(1, Math.floor(fine / pooled))
  const rows = Math.ceil(height / CELL)
  return { columns, rows, cells: columns * rows, cellRows: CELL, cellColumns: CELL * pooled }
}

/** A small sensor's full well and read noise (common practice, no source): when neither file nor pixels tell. */
const ASSUMED: NoiseTerm = { scale: 1 / 6000, offset: (3 / 6000) ** 2 }
/** Blocks of 2 × 2 that are counted, and blocks for noise: more tell no more. */
const MOST_COUNTED = 500_000
const MOST_GRAINS = 2560
/** A gradient of six standard deviations is an edge: √60 times the ½ that shot noise has after the root. */
const EDGE = 6 * Math.sqrt(60) * 0.5

/**
 * Measures one frame in one thread: clipping, levels in stops, what is buried, noise, black, row banding and tilt; and the
 * light of its cells for `bracketLevels`. Needs 0.1 MB of scratch, 0.3 MB for noise and a quarter of a byte a pixel; without
 * room for the latter the picture says nothing of tilt.
 */
export function frameLevels(context: TaskContext, request: LevelRequest): FrameLevels {
  const { memory, kernels } = context
  const { frame } = request
  const { at, width, height, cfa } = frame
  const scratch = layScratch(context)
  const tables = countTables(context, frame, scratch.take(5 * LEVEL_BINS * 4))
  const clip = clipLevels(tables, frame)
  const clipped = clippedShares(context, frame, clip, scratch.take(64))
  const columns = Math.ceil(width / CELL)
  const cellsAt = scratch.take(cellsOf(width, height) * CELL_FLOATS * 4)
  for (let y = 0; y < Math.ceil(height / CELL); y++)
    kernels.cellRow(at, width, height, y, cellsAt + y * columns * CELL_FLOATS * 4)
  const cells = memory.f32(cellsAt, cellsOf(width, height) * CELL_FLOATS)
  writeLight(frame, cells, clip, memory.f32(request.light, lightGrid(width, height).cells))
  const noise = noiseOf(frame, grainBlocks(context, frame, scratch.take(MOST_GRAINS * GRAIN_FLOATS * 4)), clip)
  const terms = COLOURS.map((c) => frame.profile?.[c] ?? noise.measured[c]?.term ?? noise.used)
  const picture = quarterPicture(context, frame, noise.used, scratch)
  return {
    basis: 'raw',
    width,
    height,
    clipped: perColour((c) => clipped[c]!),
    clipsEarly: clip.some((code) => code < frame.white - 0.01 * frame.range),
    stops: sceneStops(frame, tables, cells, clip, terms),
    buried: buriedShares(frame, cells, terms[1]!),
    noise,
    blackAtMostCodes: darkestCells(frame, cells, noise.used),
    banding: rowBanding(memory.u16(at, width * height), width, height),
    tilt: tiltOf(picture, EDGE, request.orientation, request.gimbalRoll),
  }

  function clippedShares(c: TaskContext, f: LevelFrame, limits: FourPhases, room: Address): readonly number[] {
    memory.u16(room, 4).set(limits)
    const counts = memory.u32(room + 16, 4)
    counts.fill(0)
    c.kernels.countClipped(f.at, f.width, 0, f.height, room, room + 16)
    const of = [0, 1, 2, 3].map((p) => ((f.height + 1 - (p >> 1)) >> 1) * ((f.width + 1 - (p & 1)) >> 1))
    return COLOURS.map((colour) => {
      const phases = [0, 1, 2, 3].filter((p) => cfaAt(cfa, p >> 1, p & 1) === colour)
      const total = phases.reduce((s, p) => s + of[p]!, 0)
      return total > 0 ? phases.reduce((s, p) => s + counts[p]!, 0) / total : 0
    })
  }
}

/** Hands out the worker's scratch, piece by piece. */
function layScratch({ scratch, scratchBytes }: TaskContext) {
  let top = scratch
  return {
    take(bytes: number): Address {
      const from = top
      top = from + Math.ceil(bytes / 64) * 64 + 64
      return from
    },
    left: () => scratch + scratchBytes - top,
  }
}

function countTables({ memory, kernels }: TaskContext, f: LevelFrame, at: Address): Uint32Array {
  const tables = memory.u32(at, 5 * LEVEL_BINS)
  tables.fill(0)
  const rows = f.height >> 1
  const step = Math.max(1, Math.floor(((f.width >> 1) * rows) / MOST_COUNTED))
  kernels.countLevels(f.at, f.width, 0, rows, step, binShift(f.white), at)
  return tables
}

/** Blocks spread evenly over the picture, row of blocks by row of blocks. */
function grainBlocks({ memory, kernels }: TaskContext, f: LevelFrame, at: Address): Float32Array {
  const across = Math.floor(f.width / GRAIN_SIDE)
  const down = Math.floor(f.height / GRAIN_SIDE)
  const step = Math.max(1, Math.sqrt((across * down) / MOST_GRAINS))
  const columns = Math.floor(across / step)
  const rows = Math.min(Math.floor(down / step), Math.floor(MOST_GRAINS / Math.max(columns, 1)))
  // Kernels want even places; the phase of the pattern must not change from block to block.
  const stride = 2 * Math.floor((step * GRAIN_SIDE) / 2)
  for (let r = 0; r < rows; r++)
    kernels.grainBlocks(f.at, f.width, 0, r * stride, stride, columns, at + r * columns * GRAIN_FLOATS * 4)
  return memory.f32(at, rows * columns * GRAIN_FLOATS)
}

function noiseOf(frame: LevelFrame, blocks: Float32Array, clip: FourPhases): FrameNoise {
  const grain = frameGrain(frame, blocks, clip)
  const measured = grain.map((g) => noiseOfGrain([g]))
  const profile = compareProfile(measured, frame.profile)
  const known = frame.profile?.[1] ?? measured[1]?.term
  const source = frame.profile ? 'file' : measured[1] ? 'measured' : 'assumed'
  return { measured, grain, profile, used: known ?? ASSUMED, source }
}

/** Mean of a cell's four phases over black, 1 at white; NaN where one of its samples is clipped. */
function writeLight(f: LevelFrame, cells: Float32Array, clip: FourPhases, to: Float32Array): void {
  const black = f.black.reduce((s, b) => s + b, 0) / 4
  const lowest = Math.min(...clip)
  const { columns, rows, cellColumns } = lightGrid(f.width, f.height)
  const pooled = cellColumns / CELL
  const fine = Math.ceil(f.width / CELL)
  const unit = 1 / (4 * pooled)
  for (let y = 0; y < rows; y++)
    for (let x = 0; x < columns; x++) {
      let sum = 0
      let highest = 0
      for (let k = 0; k < pooled; k++) {
        const at = (y * fine + x * pooled + k) * CELL_FLOATS
        sum += cells[at]! + cells[at + 1]! + cells[at + 2]! + cells[at + 3]!
        highest = Math.max(highest, cells[at + 4]!)
      }
      to[y * columns + x] = highest >= lowest ? Number.NaN : (sum * unit - black) / f.range
    }
}

function quarterPicture(
  { memory, kernels }: TaskContext,
  f: LevelFrame,
  noise: NoiseTerm,
  scratch: ReturnType<typeof layScratch>,
) {
  const [width, height] = [f.width >> 2, f.height >> 2]
  const bytes = width * height * 4
  if (width < 16 || height < 16 || bytes + 128 > scratch.left()) return null
  const at = scratch.take(bytes)
  const electrons = 1 / (noise.scale * f.range)
  const readVariance = (16 * noise.offset) / noise.scale ** 2
  kernels.quarterRows(f.at, f.width, 0, height, at, 4 * f.black.reduce((s, b) => s + b, 0), electrons, readVariance)
  return { pixels: memory.f32(at, width * height), width, height, across: 1, down: width }
}
