import type { Address, Memory } from '../arena.ts'
import { CELL_FLOATS } from '../luma/luma.ts'

/**
 * What the four phases of a row of cells should be, from the cell means of several frames (see luma.ts): for each phase
 * Σ trust·(mean − black)·perCode over Σ trust/gain, kept from going below 0. Weighted so, by exposure, as shot noise asks;
 * trust is 1 where the frame's largest sample in the cell is under clippedCode, and whenClipped elsewhere.
 */
export interface ExpectKernel {
  /**
   * `frames`: count × EXPECT_WORDS words: address of the frame's row of cells (u32), its offset in whole cells (i32), then
   * f32: black of the four phases, what a code is worth in each, clippedCode, 1/gain, whenClipped. A cell outside the
   * frame's row is passed over. Out, columns × 4 f32 each: at `even` the first two phases twice over, at `odd` the others.
   */
  expectRow(frames: Address, count: number, columns: number, even: Address, odd: Address): void
}

export const EXPECT_WORDS = 13

export function plainExpect(memory: Memory): ExpectKernel {
  const f = Math.fround
  return {
    expectRow(frames, count, columns, even, odd) {
      const toEven = memory.f32(even, columns * 4)
      const toOdd = memory.f32(odd, columns * 4)
      for (let x = 0; x < columns; x++) {
        const sums = [0, 0, 0, 0]
        let weight = 0
        for (let k = 0; k < count; k++) {
          const [at] = memory.u32(frames + k * EXPECT_WORDS * 4, 1)
          const [shift] = memory.i32(frames + k * EXPECT_WORDS * 4 + 4, 1)
          const n = memory.f32(frames + k * EXPECT_WORDS * 4 + 8, EXPECT_WORDS - 2)
          const column = x + shift!
          if (column < 0 || column >= columns) continue
          const cell = memory.f32(at! + column * CELL_FLOATS * 4, CELL_FLOATS)
          const trust = cell[4]! < n[8]! ? 1 : n[10]!
          weight = f(weight + f(trust * n[9]!))
          for (let p = 0; p < 4; p++) sums[p] = f(sums[p]! + f(f(f(cell[p]! - n[p]!) * n[4 + p]!) * f(trust)))
        }
        const inverse = weight > 0 ? f(1 / weight) : 0
        const value = sums.map((s) => Math.max(0, f(s * inverse)))
        toEven.set([value[0]!, value[1]!, value[0]!, value[1]!], x * 4)
        toOdd.set([value[2]!, value[3]!, value[2]!, value[3]!], x * 4)
      }
    },
  }
}
