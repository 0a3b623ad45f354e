import { type Address, CELL, CELL_FLOATS, type Crew, type Task } from '#core/kernels'
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
export const expectTask: Task = ({ memory }, p: ExpectParams, y) => {
  const size = p.columns * p.rows * CELL_FLOATS
  p.maps.forEach(([evenAt, oddAt], plane) => {
    const even = memory.f32(evenAt + y * p.columns * 16, p.columns * 4)
    const odd = memory.f32(oddAt + y * p.columns * 16, p.columns * 4)
    even.fill(0)
    odd.fill(0)
    const weights = new Float64Array(p.columns)
    for (const f of p.frames) {
      const sy = y + f.dy
      if (sy < 0 || sy >= p.rows) continue
      const cells = memory.f32(f.cells + (plane * size + sy * p.columns * CELL_FLOATS) * 4, p.columns * CELL_FLOATS)
      const level = (phase: number) => (p.mosaic ? phase : plane)
      const [b0, b1, b2, b3] = [0, 1, 2, 3].map((i) => f.black[level(i)]!) as [number, number, number, number]
      const [r0, r1, r2, r3] = [0, 1, 2, 3].map((i) => f.perCode[level(i)]!) as [number, number, number, number]
      for (let x = Math.max(0, -f.dx); x < Math.min(p.columns, p.columns - f.dx); x++) {
        const i = (x + f.dx) * CELL_FLOATS
        // Weighted as shot noise asks, by exposure, so gain and weight cancel in the sums.
        const trust = cells[i + 4]! < f.clippedCode ? 1 : f.whenClipped
        if (trust === 0) continue
        weights[x]! += trust / f.gain
        even[4 * x]! += trust * (cells[i]! - b0) * r0
        even[4 * x + 1]! += trust * (cells[i + 1]! - b1) * r1
        odd[4 * x]! += trust * (cells[i + 2]! - b2) * r2
        odd[4 * x + 1]! += trust * (cells[i + 3]! - b3) * r3
      }
    }
    for (let x = 0; x < p.columns; x++) {
      const w = weights[x]! > 0 ? 1 / weights[x]! : 0
      for (const map of [even, odd]) {
        map[4 * x] = Math.max(0, map[4 * x]! * w)
        map[4 * x + 1] = Math.max(0, map[4 * x + 1]! * w)
        map[4 * x + 2] = map[4 * x]!
        map[4 * x + 3] = map[4 * x + 1]!
      }
    }
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
