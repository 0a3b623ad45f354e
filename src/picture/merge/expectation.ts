import { type Address, CELL, CELL_FLOATS, type Memory } from '#core/kernels'
import type { Pyramids } from './pyramids.ts'
import type { MergeInput, Motion } from './types.ts'

/** Expected radiance per cell, as the merge's weights need it: for each plane and row parity, f32 × 4 per cell. */
export interface Expectation {
  /** [plane][row parity] → columns × rows × 4 f32: even column, odd column, even, odd. */
  readonly maps: readonly (readonly [Address, Address])[]
  readonly columns: number
  readonly rows: number
}

const CLIPPED = 0.9

/**
 * What each cell's samples should be, from all frames that did not clip there, weighted as shot noise asks (by exposure).
 * It only steers weights, so a cell's motion is followed to the nearest cell fraction and no closer.
 */
export function expectCells(
  memory: Memory,
  input: MergeInput,
  pyramids: Pyramids,
  motions: readonly Motion[],
  gains: readonly number[],
  alloc: (bytes: number) => Address,
): Expectation {
  const { cellColumns: columns, cellRows: rows, cellPlanes } = pyramids
  const maps = Array.from(
    { length: cellPlanes },
    () => [alloc(columns * rows * 16), alloc(columns * rows * 16)] as const,
  )
  const size = columns * rows * CELL_FLOATS
  const brightestGain = Math.max(...gains)
  for (let plane = 0; plane < cellPlanes; plane++) {
    const views = pyramids.cells.map((at) => memory.f32(at + plane * size * 4, size))
    const even = memory.f32(maps[plane]![0], columns * rows * 4)
    const odd = memory.f32(maps[plane]![1], columns * rows * 4)
    for (let y = 0; y < rows; y++) {
      for (let x = 0; x < columns; x++) {
        const sum = [0, 0, 0, 0]
        let weights = 0
        input.frames.forEach((f, k) => {
          const sx = Math.round(x + motions[k]!.x / CELL)
          const sy = Math.round(y + motions[k]!.y / CELL)
          if (sx < 0 || sy < 0 || sx >= columns || sy >= rows) return
          const i = (sy * columns + sx) * CELL_FLOATS
          const level = (phase: number) => (input.cfa ? phase : plane)
          const top = (views[k]![i + 4]! - Math.min(...f.black)) / Math.min(...f.range)
          // The least exposed frame always has a say, so that no cell is left without.
          const w = (top < CLIPPED ? 1 : gains[k] === brightestGain ? 1e-4 : 0) / gains[k]!
          if (w === 0) return
          weights += w
          for (let p = 0; p < 4; p++)
            sum[p]! += (w * gains[k]! * (views[k]![i + p]! - f.black[level(p)]!)) / f.range[level(p)]!
        })
        const value = (p: number) => Math.max(0, weights > 0 ? sum[p]! / weights : 0)
        const o = (y * columns + x) * 4
        even.set([value(0), value(1), value(0), value(1)], o)
        odd.set([value(2), value(3), value(2), value(3)], o)
      }
    }
  }
  return { maps, columns, rows }
}
