import { predictedSample } from '#core/formats'
import type { Address, Memory } from '../arena.ts'

/**
 * The entropy-coded part of lossless JPEG (ITU-T T.81 Annex H, process 14), in three steps: the bytes are freed of their
 * stuffed zeros and laid out backwards, differences are looked up, and lines of differences become lines of samples.
 *
 * Backwards layout: byte k of a stream lies at `end − 1 − k`, so that one little-endian load gives bits in stream order.
 * Table (LJPEG_TABLE_BYTES, made by `ljpegTable`): 4096 entries by the next 12 bits of the stream, then what longer codes
 * need. An entry is difference·16 + bits used, when code and difference fit 12 bits; category·512 + code length·16, when
 * only the code does; 0, when the code is longer or there is none.
 * Stream (LJPEG_STREAM_BYTES, five u32): end, bits there are, bits used so far, first line of samples, first table.
 * Tables of a stream's components follow each other.
 */
export interface LosslessJpegKernel {
  /**
   * `huffman`: 16 counts by length, then the symbols (at most 256, each 0..16), not oversubscribed. Writes the table of
   * one component at `table` (64-byte aligned).
   */
  ljpegTable(huffman: Address, table: Address): void
  /**
   * Un-stuffs up to `bytes` bytes at `src` backwards from `end`, stopping at a marker; LJPEG_STREAM_SPARE bytes more are
   * written below. Returns how many bytes the stream has.
   */
  ljpegUnstuff(src: Address, bytes: number, end: Address): number
  /**
   * Decodes `lines` lines of `width` pixels of `components` (1..4) interleaved u16 samples, `stride` bytes apart, of which
   * the first starts a scan or restart interval with the prediction `initial`; `predictor` is the selection value 1..7.
   * Returns how many lines the stream held: fewer than `lines` when it ran out or had a code that no table knows. The
   * stream must be shorter than 2^28 bytes. Nothing outside the lines is written.
   */
  ljpegLines(
    stream: Address,
    width: number,
    components: number,
    predictor: number,
    initial: number,
    lines: number,
    stride: number,
  ): number
  /** Two streams of one shape at once, two components each, to hide latency; returns the smaller count of lines. */
  ljpegLinesOfTwo(
    streamA: Address,
    streamB: Address,
    width: number,
    predictor: number,
    initial: number,
    lines: number,
    stride: number,
  ): number
}

const FAST_BITS = 12
const FAST_ENTRIES = 1 << FAST_BITS
/** Within a table: u32 by length 0..16, the first 16-bit word (left-aligned code) beyond that length's codes. */
const LIMITS = 2 * FAST_ENTRIES
/** i32 by length 0..16: what to add to a code of that length to get its place among the symbols. */
const PLACES = LIMITS + 4 * 17
const SYMBOLS = PLACES + 4 * 17
export const LJPEG_TABLE_BYTES = Math.ceil((SYMBOLS + 256) / 64) * 64
export const LJPEG_STREAM_BYTES = 20
/** Bytes below a stream that reading and writing in vectors may touch. */
export const LJPEG_STREAM_SPARE = 32
/** Where the position goes when a code is unknown: past the end of any stream. */
const NOWHERE = 0x80000000

/** T.81 F.2.2.1 (EXTEND) and table H.2: the `category` bits after a code as a difference; category 16 is 32768. */
function extended(category: number, value: number): number {
  if (category === 0) return 0
  if (category === 16) return -32768
  return value < 1 << (category - 1) ? value - (1 << category) + 1 : value
}

/** Bits after the code: category 16 has none. */
const extraBits = (category: number) => (category === 16 ? 0 : category)

export function plainLosslessJpeg(memory: Memory): LosslessJpegKernel {
  const ljpegTable = (huffman: Address, table: Address) => {
    const counts = memory.u8(huffman, 16)
    const fast = memory.i16(table, FAST_ENTRIES).fill(0)
    const limits = memory.u32(table + LIMITS, 17).fill(0)
    const places = memory.i32(table + PLACES, 17).fill(0)
    const symbols = memory.u8(table + SYMBOLS, 256).fill(0)
    let code = 0
    let place = 0
    for (let length = 1; length <= 16; length++) {
      places[length] = place - code
      for (let k = 0; k < counts[length - 1]!; k++, code++, place++) {
        const category = memory.u8(huffman + 16 + place, 1)[0]!
        symbols[place] = category
        if (length <= FAST_BITS) fillFast(fast, code << (FAST_BITS - length), length, category)
      }
      limits[length] = code << (16 - length)
      code <<= 1
    }
  }

  const ljpegUnstuff = (src: Address, bytes: number, end: Address) => {
    const from = memory.u8(src, bytes)
    const to = memory.u8(end - bytes - LJPEG_STREAM_SPARE, bytes + LJPEG_STREAM_SPARE)
    let out = to.length
    for (let i = 0; i < bytes; i++) {
      const byte = from[i]!
      if (byte === 0xff && from[++i] !== 0) break
      to[--out] = byte
    }
    to.fill(0, out - 16, out)
    return to.length - out
  }

  const ljpegLines: LosslessJpegKernel['ljpegLines'] = (
    stream,
    width,
    components,
    predictor,
    initial,
    lines,
    stride,
  ) => {
    const block = memory.u32(stream, LJPEG_STREAM_BYTES / 4)
    const [end, bits, , first, tables] = block as unknown as [number, number, number, number, number]
    const samples = width * components
    const bytes = bits >>> 3
    const reader: Reader = {
      stream: new DataView(memory.buffer, end - bytes - 8, bytes + 8),
      bytes,
      fast: memory.i16(tables, (components * LJPEG_TABLE_BYTES) / 2),
      memory,
      tables,
    }
    for (let line = 0; line < lines; line++) {
      const row = memory.u16(first + line * stride, samples)
      block[2] = readLine(reader, row, components, block[2]!)
      if (block[2]! > bits) return line
      const above = line === 0 ? null : memory.u16(first + (line - 1) * stride, samples)
      addPredictions(row, above, components, predictor, initial)
    }
    return lines
  }

  return {
    ljpegTable,
    ljpegUnstuff,
    ljpegLines,
    ljpegLinesOfTwo: (streamA, streamB, width, predictor, initial, lines, stride) =>
      Math.min(
        ljpegLines(streamA, width, 2, predictor, initial, lines, stride),
        ljpegLines(streamB, width, 2, predictor, initial, lines, stride),
      ),
  }
}

/** All entries whose 12 bits begin with this code. */
function fillFast(fast: Int16Array, from: number, length: number, category: number): void {
  const room = FAST_BITS - length
  if (category > room) {
    fast.fill((category << 9) | (length << 4), from, from + (1 << room))
    return
  }
  const run = 1 << (room - category)
  for (let value = 0; value < 1 << category; value++, from += run)
    fast.fill((extended(category, value) << 4) | (length + category), from, from + run)
}

/** A stream and its tables, as views that begin at the lowest byte of each. */
interface Reader {
  /** The stream backwards, with eight bytes of zeros below it. */
  readonly stream: DataView
  readonly bytes: number
  readonly fast: Int16Array
  readonly memory: Memory
  readonly tables: Address
}

/** At least 25 bits from a position on, at the top; past the end never further than the zeros below the stream. */
function ahead(stream: DataView, bytes: number, position: number): number {
  return stream.getUint32(bytes + 4 - Math.min(position >>> 3, bytes), true) << (position & 7)
}

/** Fills a line with differences from a bit position on; returns the position after it. */
function readLine(reader: Reader, row: Uint16Array, components: number, start: number): number {
  const { stream, bytes, fast } = reader
  const lastTable = ((components - 1) * LJPEG_TABLE_BYTES) / 2
  let position = start
  let table = 0
  for (let i = 0; i < row.length; i++) {
    const word = ahead(stream, bytes, position)
    const entry = fast[table + (word >>> (32 - FAST_BITS))]!
    const used = entry & 15
    row[i] = entry >> 4
    position += used
    if (used === 0) position = readLong(reader, row, i, components, position, entry)
    table = table === lastTable ? 0 : table + LJPEG_TABLE_BYTES / 2
  }
  return position
}

/** A difference that goes beyond the fast table. */
function readLong(
  { stream, bytes, memory, tables }: Reader,
  row: Uint16Array,
  i: number,
  components: number,
  position: number,
  entry: number,
): number {
  const word = ahead(stream, bytes, position)
  const found =
    entry === 0 ? entryOfLongCode(memory, tables + (i % components) * LJPEG_TABLE_BYTES, word >>> 16) : entry
  if (found === 0) return NOWHERE
  const category = found >> 9
  const length = (found >> 4) & 31
  const extra = extraBits(category)
  row[i] = extended(category, extra === 0 ? 0 : ahead(stream, bytes, position + length) >>> (32 - extra))
  return position + length + extra
}

/** What the fast table would hold for a code of 13 to 16 bits at the top of a 16-bit word (T.81 F.2.2.3, DECODE). */
function entryOfLongCode(memory: Memory, table: Address, word: number): number {
  const limits = memory.u32(table + LIMITS, 17)
  for (let length = FAST_BITS + 1; length <= 16; length++)
    if (word < limits[length]!) {
      const place = (word >> (16 - length)) + memory.i32(table + PLACES, 17)[length]!
      return (memory.u8(table + SYMBOLS + place, 1)[0]! << 9) | (length << 4)
    }
  return 0
}

/** Differences to samples in place, modulo 2^16. Without a line above, the line starts from `initial` (T.81 H.1.2.1). */
function addPredictions(
  row: Uint16Array,
  above: Uint16Array | null,
  components: number,
  predictor: number,
  initial: number,
): void {
  for (let c = 0; c < components; c++) {
    let a = (row[c]! + (above ? above[c]! : initial)) & 0xffff
    row[c] = a
    if (!above || predictor === 1)
      for (let i = c + components; i < row.length; i += components) {
        a = (a + row[i]!) & 0xffff
        row[i] = a
      }
    else
      for (let i = c + components; i < row.length; i += components) {
        a = (predictedSample(predictor, a, above[i]!, above[i - components]!) + row[i]!) & 0xffff
        row[i] = a
      }
  }
}
