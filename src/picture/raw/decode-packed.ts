import { malformed, unsupported } from '#core/base'
import { inflateBounded } from '#core/formats'
import type { Address, TaskContext } from '#core/kernels'
import {
  type FramePlan,
  packedRowBytes,
  pictureStride,
  placeOf,
  type Room,
  visibleColumns,
  visibleRows,
} from './frame-plan.ts'
import type { Segment } from './types.ts'

/** Throws unless the plan's samples have a width that can be unpacked and its predictor is one that is known. */
export function checkPacking({ bits, packing, predictor }: FramePlan): void {
  if (packing === 'lossless-jpeg') return
  if (!(bits >= 8 && bits <= 16)) throw unsupported('raw-bits', { bitsPerSample: bits })
  if (packing === 'none' || predictor === 1) return
  // TIFF 6.0 section 14 defines horizontal differencing for whole bytes and words.
  if (predictor !== 2 || bits % 8 !== 0) throw unsupported('raw-predictor', { predictor, bitsPerSample: bits })
}

/** Rows [from, to) of an uncompressed segment. */
export function decodeUncompressed(context: TaskContext, plan: FramePlan, s: Segment, from: number, to: number): void {
  const src = plan.fileAt + s.offset + from * packedRowBytes(plan, s)
  unpackRows(context, plan, s, src, from, to - from)
  linearise(context, plan, s, from, to - from)
}

/** Bytes of the inflated segment, with room for reading one vector past it. */
export const deflateRoom = (plan: FramePlan, s: Segment) => packedRowBytes(plan, s) * s.height + 64

/** A whole deflated segment (zlib stream, TIFF Compression 8). */
export function decodeDeflated(context: TaskContext, plan: FramePlan, s: Segment, room: Room): void {
  const rows = visibleRows(plan, s)
  const rowBytes = packedRowBytes(plan, s)
  const packed = context.memory.u8(plan.fileAt + s.offset, s.byteCount)
  const bytes = inflateBounded(packed, rowBytes * s.height)
  if (bytes.length < rowBytes * rows)
    throw malformed('segment-short', { wantedBytes: rowBytes * rows, foundBytes: bytes.length })
  context.memory.u8(room.at, bytes.length).set(bytes)
  unpackRows(context, plan, s, room.at, 0, rows)
  if (plan.predictor === 2) undoDifferencing(context, plan, s, rows)
  linearise(context, plan, s, 0, rows)
}

function unpackRows(
  { kernels }: TaskContext,
  plan: FramePlan,
  s: Segment,
  src: Address,
  row: number,
  rows: number,
): void {
  const { bits } = plan
  const srcStride = packedRowBytes(plan, s)
  const dst = placeOf(plan, s, row)
  const dstStride = pictureStride(plan)
  const columns = visibleColumns(plan, s) * plan.samplesPerPixel
  if (bits === 8) kernels.unpackBytes(src, srcStride, dst, dstStride, columns, rows)
  else if (bits === 16) kernels.unpackWords(src, srcStride, dst, dstStride, columns, rows, plan.littleEndian ? 0 : 1)
  else kernels.unpackBits(src, srcStride, dst, dstStride, columns, rows, bits)
}

/** TIFF 6.0 section 14: each sample was stored as the difference from the same plane's sample to its left. */
function undoDifferencing({ memory }: TaskContext, plan: FramePlan, s: Segment, rows: number): void {
  const step = plan.samplesPerPixel
  const mask = plan.bits === 8 ? 0xff : 0xffff
  for (let y = 0; y < rows; y++) {
    const row = memory.u16(placeOf(plan, s, y), visibleColumns(plan, s) * step)
    for (let x = step; x < row.length; x++) row[x] = (row[x]! + row[x - step]!) & mask
  }
}

function linearise({ kernels }: TaskContext, plan: FramePlan, s: Segment, row: number, rows: number): void {
  if (plan.curveEntries === 0) return
  const columns = visibleColumns(plan, s) * plan.samplesPerPixel
  kernels.linearise(placeOf(plan, s, row), pictureStride(plan), columns, rows, plan.curveAt, plan.curveEntries)
}
