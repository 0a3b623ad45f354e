import { type Address, CELL, CELL_FLOATS, type Crew, EXPECT_WORDS, type Task } from '#core/kernels'
import type { Pyramids } from './pyramids.ts'
import type { MergeInput, Motion } from './types.ts'

/** Expected radiance per cell, as the merge's weights need it: for each plane and row parity, f32 × 4 per cell. */
export interface Expectation {
  /** [plane][row parity] → columns × rows × 4 f32: even column, odd column, even, odd. */
  readonly maps: readonly (readonly [Address, Address])[]
  readonly columns: number
  readonly rows: number
}

interface ExpectParams extends Expectation {
  readonly frames: readonly {
    /** Cells of the planes, one after the other. */
    readonly cells: Address
    /** Black and reciprocal range: of the four phases, or of the three planes. */
    readonly black: readonly number[]
    readonly perCode: readonly number[]
    readonly clippedCode: number
    readonly gain: number
    /** Offset of its content in whole cells. */
    readonly dx: number
    readonly dy: number
    /** What it counts where it clips: the least exposed frame always has a say, so that no cell is left without. */
    readonly whenClipped: number
  }[]
  readonly mosaic: boolean
}

const CLIPPED = 0.9

/** One row of cells of every plane. */
export const expectTask: Task = ({ kernels, memory, scratch }, p: ExpectParams, y) => {
  const size = p.columns * p.rows * CELL_FLOATS
  p.maps.forEach(([even, odd], plane) => {
    const level = (values: readonly number[]) => [0, 1, 2, 3].map((i) => values[p.mosaic ? i : plane]!)
    let count = 0
    for (const f of p.frames) {
      const row = y + f.dy
      if (row < 0 || row >= p.rows) continue
      const entry = scratch + count++ * EXPECT_WORDS * 4
      memory.u32(entry, 1)[0] = f.cells + (plane * size + row * p.columns * CELL_FLOATS) * 4
      memory.i32(entry + 4, 1)[0] = f.dx
      memory
        .f32(entry + 8, EXPECT_WORDS - 2)
        .set([...level(f.black), ...level(f.perCode), f.clippedCode, 1 / f.gain, f.whenClipped])
    }
    kernels.expectRow(scratch, count, p.columns, even + y * p.columns * 16, odd + y * p.columns * 16)
  })
}

/**
 * What each cell's samples should be, from all frames that did not clip there, weighted as shot noise asks (by exposure).
 * It only steers weights, so a cell's motion is followed to the nearest whole cell and no closer. The maps are newly
 * allocated.
 */
export async function expectCells(
  crew: Crew,
  input: MergeInput,
  pyramids: Pyramids,
  motions: readonly Motion[],
  gains: readonly number[],
): Promise<Expectation> {
  const { cellColumns: columns, cellRows: rows, cellPlanes } = pyramids
  const alloc = () => crew.arena.alloc(columns * rows * 16)
  const maps = Array.from({ length: cellPlanes }, () => [alloc(), alloc()] as const)
  const brightestGain = Math.max(...gains)
  const used = input.cfa ? 4 : 3
  const params: ExpectParams = {
    maps,
    columns,
    rows,
    mosaic: input.cfa !== null,
    frames: input.frames.map((f, k) => ({
      cells: pyramids.cells[k]!,
      black: [...f.black],
      perCode: f.range.map((r) => 1 / r),
      clippedCode: Math.min(...f.black.slice(0, used)) + CLIPPED * Math.min(...f.range.slice(0, used)),
      gain: gains[k]!,
      dx: Math.round(motions[k]!.x / CELL),
      dy: Math.round(motions[k]!.y / CELL),
      whenClipped: gains[k] === brightestGain ? 1e-4 : 0,
    })),
  }
  await crew.run('merge.expect', params, rows)
  return { maps, columns, rows }
}
