import { malformed, overLimit } from '#core/base'
import { type LosslessJpeg, parseLosslessJpeg } from '#core/formats'
import {
  type Address,
  LJPEG_STREAM_BYTES,
  LJPEG_STREAM_SPARE,
  LJPEG_TABLE_BYTES,
  type Memory,
  type TaskContext,
} from '#core/kernels'
import { type FramePlan, pictureStride, placeOf, type Room, visibleColumns, visibleRows } from './frame-plan.ts'
import type { Segment } from './types.ts'

/** A segment's lossless JPEG understood: how many of its lines are wanted and where they go. */
interface Tile {
  readonly segment: Segment
  readonly jpeg: LosslessJpeg
  /** Bytes of the file, of which the segment ends at `end`. */
  readonly bytes: Uint8Array
  readonly end: number
  /** Samples of a JPEG line; need not be those of a segment's row. */
  readonly lineSamples: number
  readonly lines: number
  /** Lines are rows and lie wholly in the picture: they are decoded in place. */
  readonly inPlace: boolean
}

const HUFFMAN_BYTES = 320
const BLOCK_BYTES = Math.ceil(LJPEG_STREAM_BYTES / 64) * 64
const FIXED_BYTES = HUFFMAN_BYTES + 4 * LJPEG_TABLE_BYTES + BLOCK_BYTES
/** The kernel counts bits in 31. */
const LONGEST_STREAM = 1 << 27

const roundUp = (bytes: number) => Math.ceil(bytes / 64) * 64

function readTile(memory: Memory, plan: FramePlan, segment: Segment): Tile {
  const { offset, byteCount } = segment
  if (byteCount > LONGEST_STREAM) throw overLimit('jpeg-stream', { byteCount, limitBytes: LONGEST_STREAM })
  const bytes = memory.u8(plan.fileAt, plan.fileBytes)
  const jpeg = parseLosslessJpeg(bytes, offset, byteCount)
  // Only the number of samples ties a JPEG to its tile (DNG 1.4 chapter 3, Compression): two rows may be folded into one
  // line, two neighbouring samples may be two components.
  const lineSamples = jpeg.width * jpeg.components
  const rowSamples = segment.width * plan.samplesPerPixel
  const wanted = rowSamples * visibleRows(plan, segment)
  const lines = Math.ceil(wanted / lineSamples)
  if (lines > jpeg.height) throw malformed('jpeg-too-small', { wanted, found: lineSamples * jpeg.height })
  const inPlace = lineSamples === rowSamples && visibleColumns(plan, segment) === segment.width
  return { segment, jpeg, bytes, end: offset + byteCount, lineSamples, lines, inPlace }
}

const samplesRoom = (t: Tile) => (t.inPlace ? 0 : roundUp(2 * t.lineSamples * t.lines))
const streamRoom = (t: Tile) => roundUp(t.end - t.jpeg.dataOffset + 2 * LJPEG_STREAM_SPARE)
const roomOf = (t: Tile) => FIXED_BYTES + samplesRoom(t) + streamRoom(t)

/** Bytes a segment needs at most, without looking into it: 65,535 pixels of 4 components are the longest line. */
export const losslessRoomBound = (plan: FramePlan, s: Segment) =>
  FIXED_BYTES + s.byteCount + 2 * s.width * plan.samplesPerPixel * visibleRows(plan, s) + 2 * 4 * 65535 + 256

/** Bytes a segment needs exactly. */
export const losslessRoom = (memory: Memory, plan: FramePlan, s: Segment) => roomOf(readTile(memory, plan, s))

/** Where a tile's tables, stream and samples lie while it is decoded. */
interface Bench {
  readonly huffman: Address
  readonly tables: Address
  readonly block: Address
  readonly samples: Address
  readonly streamEnd: Address
}

function benchAt(tile: Tile, at: Address): Bench {
  const tables = at + HUFFMAN_BYTES
  const block = tables + 4 * LJPEG_TABLE_BYTES
  const samples = block + BLOCK_BYTES
  return {
    huffman: at,
    tables,
    block,
    samples,
    streamEnd: samples + samplesRoom(tile) + streamRoom(tile) - LJPEG_STREAM_SPARE,
  }
}

/** Decodes one segment, or two of one shape together, into the picture. */
export function decodeLossless(context: TaskContext, plan: FramePlan, segments: readonly Segment[], room: Room): void {
  const tiles = segments.map((s) => readTile(context.memory, plan, s))
  const [a, b] = tiles
  if (a && b && alike(a, b) && roomOf(a) + roomOf(b) <= room.bytes) {
    decodeTwo(context, plan, a, b, room)
    return
  }
  for (const tile of tiles) {
    if (roomOf(tile) > room.bytes)
      throw overLimit('out-of-memory', { wantedBytes: roomOf(tile), leftBytes: room.bytes })
    decodeOne(context, plan, tile, benchAt(tile, room.at))
  }
}

/** May both go through the loop for two streams? */
function alike(a: Tile, b: Tile): boolean {
  const same = (pick: (jpeg: LosslessJpeg) => number) => pick(a.jpeg) === pick(b.jpeg)
  return (
    a.jpeg.components === 2 &&
    a.jpeg.restartLines === 0 &&
    a.lines === b.lines &&
    a.inPlace === b.inPlace &&
    same((j) => j.components) &&
    same((j) => j.restartLines) &&
    same((j) => j.width) &&
    same((j) => j.predictor) &&
    same((j) => j.precision) &&
    same((j) => j.pointTransform)
  )
}

const initialOf = ({ precision, pointTransform }: LosslessJpeg) => 1 << (precision - pointTransform - 1)
const strideOf = (plan: FramePlan, t: Tile) => (t.inPlace ? pictureStride(plan) : 2 * t.lineSamples)
const firstLine = (plan: FramePlan, t: Tile, bench: Bench) => (t.inPlace ? placeOf(plan, t.segment) : bench.samples)

function decodeTwo(context: TaskContext, plan: FramePlan, a: Tile, b: Tile, room: Room): void {
  const benchA = benchAt(a, room.at)
  const benchB = benchAt(b, room.at + roomOf(a))
  for (const [tile, bench] of [
    [a, benchA],
    [b, benchB],
  ] as const) {
    makeTables(context, tile, bench)
    layStream(context, tile, bench, tile.jpeg.dataOffset, tile.end, firstLine(plan, tile, bench))
  }
  const { width, predictor } = a.jpeg
  const lines = context.kernels.ljpegLinesOfTwo(
    benchA.block,
    benchB.block,
    width,
    predictor,
    initialOf(a.jpeg),
    a.lines,
    strideOf(plan, a),
  )
  if (lines < a.lines) throw malformed('jpeg-data-ends', { line: lines, lines: a.lines })
  finish(context, plan, a, benchA)
  finish(context, plan, b, benchB)
}

function decodeOne(context: TaskContext, plan: FramePlan, tile: Tile, bench: Bench): void {
  const { jpeg, lines, bytes, end } = tile
  const stride = strideOf(plan, tile)
  const interval = jpeg.restartLines === 0 ? lines : jpeg.restartLines
  makeTables(context, tile, bench)
  let from = jpeg.dataOffset
  for (let line = 0, k = 0; line < lines; line += interval, k++) {
    const marker = jpeg.restartLines === 0 ? end : nextMarker(bytes, from, end)
    layStream(context, tile, bench, from, marker, firstLine(plan, tile, bench) + line * stride)
    const wanted = Math.min(interval, lines - line)
    const { width, components, predictor } = jpeg
    const found = context.kernels.ljpegLines(bench.block, width, components, predictor, initialOf(jpeg), wanted, stride)
    if (found < wanted) throw malformed('jpeg-data-ends', { line: line + found, lines })
    if (line + interval >= lines) break
    // T.81 B.2.1: restart markers count modulo 8.
    if (marker + 1 >= end || bytes[marker + 1] !== 0xd0 + (k & 7))
      throw malformed('jpeg-restart-marker', { offset: marker })
    from = marker + 2
  }
  finish(context, plan, tile, bench)
}

/** The FF of the next marker, or `end`. */
function nextMarker(bytes: Uint8Array, from: number, end: number): number {
  for (let at = from; ; at += 2) {
    const found = bytes.subarray(at, end).indexOf(0xff)
    if (found < 0) return end
    at += found
    while (at + 1 < end && bytes[at + 1] === 0xff) at++
    if (at + 1 >= end || bytes[at + 1] !== 0) return at
  }
}

function makeTables({ memory, kernels }: TaskContext, { jpeg }: Tile, bench: Bench): void {
  jpeg.tables.forEach(({ counts, symbols }, c) => {
    const huffman = memory.u8(bench.huffman, HUFFMAN_BYTES)
    huffman.set(counts)
    huffman.set(symbols, counts.length)
    kernels.ljpegTable(bench.huffman, bench.tables + c * LJPEG_TABLE_BYTES)
  })
}

function layStream(
  { memory, kernels }: TaskContext,
  tile: Tile,
  bench: Bench,
  from: number,
  to: number,
  line: Address,
): void {
  const bytes = kernels.ljpegUnstuff(tile.bytes.byteOffset + from, to - from, bench.streamEnd)
  memory.u32(bench.block, LJPEG_STREAM_BYTES / 4).set([bench.streamEnd, 8 * bytes, 0, line, bench.tables])
}

/** Undoes the point transform, re-wraps lines at the segment's width, and linearises. */
function finish({ memory, kernels }: TaskContext, plan: FramePlan, tile: Tile, bench: Bench): void {
  const { segment, jpeg } = tile
  const rows = visibleRows(plan, segment)
  const columns = visibleColumns(plan, segment) * plan.samplesPerPixel
  const rowSamples = segment.width * plan.samplesPerPixel
  if (!tile.inPlace)
    for (let y = 0; y < rows; y++)
      memory.u16(placeOf(plan, segment, y), columns).set(memory.u16(bench.samples + 2 * y * rowSamples, columns))
  if (jpeg.pointTransform > 0)
    for (let y = 0; y < rows; y++) {
      const row = memory.u16(placeOf(plan, segment, y), columns)
      for (let x = 0; x < columns; x++) row[x] = row[x]! << jpeg.pointTransform
    }
  if (plan.curveEntries > 0)
    kernels.linearise(placeOf(plan, segment), pictureStride(plan), columns, rows, plan.curveAt, plan.curveEntries)
}
