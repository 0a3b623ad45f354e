import { type Address, CELL, COMBINE_WORDS, planeStride, type Task, type TaskContext } from '#core/kernels'
import { cfaAt } from '#core/pixels'
import { type Field, type LaidRows, layFrame, layingBytes, sourceOf, type Tile, type TileFrame } from './lay-frame.ts'

export interface TileParams extends Field {
  readonly tileRows: number
  readonly frames: readonly TileFrame[]
  readonly cellColumns: number
  readonly cellRows: number
  /** [plane][row parity] */
  readonly expected: readonly (readonly [Address, Address])[]
  readonly out: readonly Address[]
  /** First variance, of plane `variancePlane` only, and the bytes from one row of them to the next. */
  readonly variance: Address
  readonly varianceRowBytes: number
  readonly variancePlane: number
  /** i32 per tile: samples clipped in every frame. */
  readonly clipped: Address
}

/** All that one tile takes stays within a core's second-level cache (about 1 MB) for seven frames. */
export const TILE_COLUMNS = 256

const ENTRY_BYTES = COMBINE_WORDS * 4

export const tileCount = (width: number, height: number, tileRows: number) => ({
  across: Math.ceil(width / TILE_COLUMNS),
  down: Math.ceil(height / tileRows),
})

const laidRowBytes = planeStride(TILE_COLUMNS) * 4
/** Two tables of entries, for even and odd rows, and a row for variances that nobody wants. */
const headBytes = (frames: number) => 2 * frames * ENTRY_BYTES + laidRowBytes + 256

/** How many rows a tile may have for a worker's scratch to hold it, for the largest slant among the frames; 0 = none. */
export function tileRowsFor(
  width: number,
  height: number,
  maps: readonly TileFrame['map'][],
  scratchBytes: number,
): number {
  for (const rows of [32, 16, 8, 4, 2]) {
    // Wherever a tile lies, it reads as much; one in the middle of the picture reads it all.
    const left = Math.floor(width / 2) & ~7
    const top = Math.floor(height / 2)
    const tile = { left, right: left + TILE_COLUMNS, top, bottom: top + rows }
    const unbounded = { width: Number.MAX_SAFE_INTEGER, height: Number.MAX_SAFE_INTEGER }
    const laying = Math.max(...maps.map((m) => layingBytes(sourceOf(m, unbounded, tile), TILE_COLUMNS)))
    if (headBytes(maps.length) + maps.length * rows * 2 * laidRowBytes + laying < scratchBytes) return rows
  }
  return 0
}

/** The frames' numbers as the combine kernel wants them, for rows of one parity; the row addresses are filled in per row. */
function writeEntries({ memory }: TaskContext, p: TileParams, at: Address, parity: number, plane: number): void {
  const numbers = memory.f32(at, p.frames.length * COMBINE_WORDS)
  const even = p.cfa ? cfaAt(p.cfa, parity, 0) : plane
  const odd = p.cfa ? cfaAt(p.cfa, parity, 1) : plane
  p.frames.forEach((f, k) => {
    numbers.set([f.gain, f.floor, f.s[even]!, f.s[odd]!, f.o[even]!, f.o[odd]!], k * COMBINE_WORDS + 2)
  })
}

/** One tile of the merge: every frame laid on the reference, then the inverse-variance mean of each row. */
export const tilesTask: Task = (context, p: TileParams, item) => {
  const { kernels, memory } = context
  const { across } = tileCount(p.width, p.height, p.tileRows)
  const left = (item % across) * TILE_COLUMNS
  const top = Math.floor(item / across) * p.tileRows
  const tile: Tile = {
    left,
    right: Math.min(p.width, left + TILE_COLUMNS),
    top,
    bottom: Math.min(p.height, top + p.tileRows),
  }
  const n = p.frames.length
  const columns = tile.right - tile.left
  const entries = [context.scratch, context.scratch + n * ENTRY_BYTES] as const
  const unwanted = context.scratch + 2 * n * ENTRY_BYTES
  const laid = context.scratch + Math.ceil(headBytes(n) / 64) * 64
  const frameBytes = p.tileRows * 2 * laidRowBytes
  const rowsOf = (k: number): LaidRows => ({ at: laid + k * frameBytes, rowBytes: laidRowBytes })
  const addresses = entries.map((at) => memory.u32(at, n * COMBINE_WORDS))
  const cellBytes = p.cellColumns * 16
  let clipped = 0
  for (let plane = 0; plane < p.out.length; plane++) {
    p.frames.forEach((f, k) => {
      layFrame(context, p, f, tile, plane, rowsOf(k), laid + n * frameBytes)
    })
    writeEntries(context, p, entries[0], 0, plane)
    writeEntries(context, p, entries[1], 1, plane)
    for (let y = tile.top; y < tile.bottom; y++) {
      const parity = (y & 1) as 0 | 1
      for (let k = 0; k < n; k++) {
        const value = laid + k * frameBytes + (y - tile.top) * 2 * laidRowBytes
        addresses[parity]![k * COMBINE_WORDS] = value
        addresses[parity]![k * COMBINE_WORDS + 1] = value + laidRowBytes
      }
      const position = Math.min(Math.max((y + 0.5) / CELL - 0.5, 0), p.cellRows - 1)
      const above = Math.min(Math.floor(position), Math.max(0, p.cellRows - 2))
      const below = Math.min(above + 1, p.cellRows - 1)
      const map = p.expected[plane]![parity]
      const at = (y * p.width + tile.left) * 4
      const variance = plane === p.variancePlane ? p.variance + y * p.varianceRowBytes + tile.left * 4 : unwanted
      clipped += kernels.combineRow(
        entries[parity],
        n,
        tile.left,
        columns,
        map + above * cellBytes,
        map + below * cellBytes,
        position - above,
        p.cellColumns,
        p.out[plane]! + at,
        variance,
      )
    }
  }
  memory.i32(p.clipped + item * 4, 1)[0] = clipped
}
