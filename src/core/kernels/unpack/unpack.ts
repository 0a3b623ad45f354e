import type { Address, Memory } from '../arena.ts'

/**
 * Uncompressed samples to u16, row by row; rows start at whole bytes (TIFF 6.0 section 7, StripOffsets, FillOrder 1).
 * Each function takes `rows` rows of `columns` samples, `srcStride` and `dstStride` bytes apart; `dst` is 2-byte aligned.
 * Reading may run 16 bytes past the last row; nothing outside the rows is written.
 */
export interface UnpackKernel {
  /** 8-bit samples. */
  unpackBytes(src: Address, srcStride: number, dst: Address, dstStride: number, columns: number, rows: number): void
  /** 16-bit samples, `bigEndian` 1 or 0; src may be odd. */
  unpackWords(
    src: Address,
    srcStride: number,
    dst: Address,
    dstStride: number,
    columns: number,
    rows: number,
    bigEndian: number,
  ): void
  /** Samples of `bits` (9..15) each, packed without gaps, first sample in the highest bits, in any byte order of the file. */
  unpackBits(
    src: Address,
    srcStride: number,
    dst: Address,
    dstStride: number,
    columns: number,
    rows: number,
    bits: number,
  ): void
  /**
   * Linearisation in place: sample → table[min(sample, entries − 1)] (DNG 1.4 chapter 5, LinearizationTable); entries ≥ 1.
   */
  linearise(dst: Address, dstStride: number, columns: number, rows: number, table: Address, entries: number): void
}

export function plainUnpack(memory: Memory): UnpackKernel {
  return {
    unpackBytes(src, srcStride, dst, dstStride, columns, rows) {
      for (let y = 0; y < rows; y++)
        memory.u16(dst + y * dstStride, columns).set(memory.u8(src + y * srcStride, columns))
    },

    unpackWords(src, srcStride, dst, dstStride, columns, rows, bigEndian) {
      for (let y = 0; y < rows; y++) {
        const from = memory.u8(src + y * srcStride, 2 * columns)
        const to = memory.u16(dst + y * dstStride, columns)
        const low = bigEndian ? 1 : 0
        for (let x = 0; x < columns; x++) to[x] = from[2 * x + low]! | (from[2 * x + 1 - low]! << 8)
      }
    },

    unpackBits(src, srcStride, dst, dstStride, columns, rows, bits) {
      const mask = (1 << bits) - 1
      for (let y = 0; y < rows; y++) {
        const from = memory.u8(src + y * srcStride, Math.ceil((columns * bits) / 8))
        const to = memory.u16(dst + y * dstStride, columns)
        let held = 0
        let word = 0
        let at = 0
        for (let x = 0; x < columns; x++) {
          while (held < bits) {
            word = (word << 8) | from[at++]!
            held += 8
          }
          held -= bits
          to[x] = (word >>> held) & mask
        }
      }
    },

    linearise(dst, dstStride, columns, rows, table, entries) {
      const curve = memory.u16(table, entries)
      for (let y = 0; y < rows; y++) {
        const row = memory.u16(dst + y * dstStride, columns)
        for (let x = 0; x < columns; x++) row[x] = curve[Math.min(row[x]!, entries - 1)]!
      }
    },
  }
}
