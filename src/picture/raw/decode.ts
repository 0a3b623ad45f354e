import { malformed, overLimit } from '#core/base'
import { type Address, type Arena, type Crew, SCRATCH_BYTES, type TaskContext, type TaskTable } from '#core/kernels'
import { decodeLossless, losslessRoom, losslessRoomBound } from './decode-lossless.ts'
import { checkPacking, decodeDeflated, decodeUncompressed, deflateRoom } from './decode-packed.ts'
import {
  type FramePlan,
  namingSegment,
  packedRowBytes,
  type Room,
  readSegment,
  segmentBytes,
  visibleColumns,
  visibleRows,
  writeSegments,
} from './frame-plan.ts'
import type { RawFile, Segment } from './types.ts'

/** One raw file whose bytes lie in the crew's memory, and where its samples go. */
export interface DecodeJob {
  readonly raw: RawFile
  readonly fileAt: Address
  readonly fileBytes: number
  /** width × height × samplesPerPixel u16 values. */
  readonly destination: Address
}

/** Some segments of one frame, or some rows of one segment. */
interface Item {
  readonly frame: number
  readonly segment: number
  readonly count: number
  readonly fromRow: number
  readonly toRow: number
  /** Memory beside the worker's scratch, for segments too large for that. */
  readonly room: Room | null
}

interface DecodeParams {
  readonly frames: readonly FramePlan[]
  readonly itemsAt: Address
}

const ITEM_NUMBERS = 7
/** Uncompressed bytes, or compressed samples, that are worth one item. */
const ITEM_SIZE = 1 << 20
const ITEM_SAMPLES = 1 << 16

/**
 * Decodes the whole raw area of several files in one step, so that their tiles and strips share the workers evenly.
 * Samples are stored row by row, interleaved, after linearisation and before black. Throws `malformed`, `unsupported` or
 * `limit` when a file's data are damaged; then the destinations hold no picture.
 */
export async function decodeMany(crew: Crew, jobs: readonly DecodeJob[]): Promise<void> {
  const { arena } = crew
  const mark = arena.mark()
  try {
    const frames = jobs.map((job) => planFrame(arena, job))
    const segments = jobs.reduce((sum, job) => sum + job.raw.segments.length, 0)
    // Two at once only where enough is left to share out.
    const atOnce = segments >= 4 * crew.threads ? 2 : 1
    const items = frames.flatMap((plan, frame) => itemsOf(arena, plan, frame, jobs[frame]!.raw.segments, atOnce))
    const itemsAt = arena.alloc(8 * ITEM_NUMBERS * items.length)
    const numbers = arena.f64(itemsAt, ITEM_NUMBERS * items.length)
    items.forEach(({ frame, segment, count, fromRow, toRow, room }, i) => {
      numbers.set([frame, segment, count, fromRow, toRow, room?.at ?? 0, room?.bytes ?? 0], i * ITEM_NUMBERS)
    })
    const params: DecodeParams = { frames, itemsAt }
    await crew.run('raw.decode', params, items.length)
  } finally {
    arena.release(mark)
  }
}

/** Decodes one raw file whose bytes lie at `fileAt` in the crew's memory; see `decodeMany`. */
export const decodeRaw = (crew: Crew, raw: RawFile, fileAt: Address, fileBytes: number, destination: Address) =>
  decodeMany(crew, [{ raw, fileAt, fileBytes, destination }])

/** Decodes one raw file from bytes anywhere, which are copied into the crew's memory for as long as it takes. */
export async function decodeRawBytes(crew: Crew, raw: RawFile, bytes: Uint8Array, destination: Address): Promise<void> {
  const mark = crew.arena.mark()
  try {
    const fileAt = crew.arena.alloc(bytes.length)
    crew.arena.u8(fileAt, bytes.length).set(bytes)
    await decodeRaw(crew, raw, fileAt, bytes.length, destination)
  } finally {
    crew.arena.release(mark)
  }
}

function planFrame(arena: Arena, { raw, fileAt, fileBytes, destination }: DecodeJob): FramePlan {
  const curve = raw.linearisation ?? new Uint16Array(0)
  const curveAt = arena.alloc(2 * curve.length)
  arena.u16(curveAt, curve.length).set(curve)
  const segmentsAt = arena.alloc(segmentBytes(raw.segments.length))
  writeSegments(arena, segmentsAt, raw.segments)
  const { width, height, samplesPerPixel, bitsPerSample: bits, packing, predictor, littleEndian } = raw
  const plan: FramePlan = {
    ...{ fileAt, fileBytes, destination, width, height, samplesPerPixel, bits, packing, predictor, littleEndian },
    ...{ curveAt, curveEntries: curve.length, segmentsAt },
  }
  checkPacking(plan)
  checkSegments(plan, raw.segments)
  return plan
}

/**
 * Every segment starts in the picture, its bytes lie in the file, and together they cover the picture. Segments may share
 * bytes, but not so often that a small file makes work without end.
 */
function checkSegments(plan: FramePlan, segments: readonly Segment[]): void {
  let covered = 0
  let bytes = 0
  segments.forEach((s, segment) => {
    const { x, y, width, height, offset, byteCount } = s
    if (!(x >= 0 && y >= 0 && x < plan.width && y < plan.height && width > 0 && height > 0))
      throw malformed('segment-outside-picture', { segment, x, y, width, height })
    if (!(offset >= 0 && byteCount >= 0 && offset + byteCount <= plan.fileBytes))
      throw malformed('segment-outside-file', { segment, offset, byteCount, fileBytes: plan.fileBytes })
    const wantedBytes = packedRowBytes(plan, s) * visibleRows(plan, s)
    if (plan.packing === 'none' && byteCount < wantedBytes)
      throw malformed('segment-short', { segment, wantedBytes, foundBytes: byteCount })
    bytes += byteCount
    covered += visibleColumns(plan, s) * visibleRows(plan, s)
  })
  if (covered !== plan.width * plan.height)
    throw malformed('segments-incomplete', { wantedPixels: plan.width * plan.height, foundPixels: covered })
  if (bytes > 2 * plan.fileBytes)
    throw overLimit('segments-overlap', { segmentBytes: bytes, limitBytes: 2 * plan.fileBytes })
}

function itemsOf(arena: Arena, plan: FramePlan, frame: number, segments: readonly Segment[], atOnce: number): Item[] {
  const items: Item[] = []
  const uncompressed = plan.packing === 'none'
  const sizeOf = (s: Segment) => (uncompressed ? packedRowBytes(plan, s) * visibleRows(plan, s) : s.width * s.height)
  const most = uncompressed ? ITEM_SIZE : ITEM_SAMPLES
  for (let segment = 0; segment < segments.length; ) {
    const s = segments[segment]!
    const rows = visibleRows(plan, s)
    const room = roomBeyondScratch(arena, plan, s)
    if (uncompressed && sizeOf(s) > most) {
      const step = Math.max(1, Math.floor(most / packedRowBytes(plan, s)))
      for (let fromRow = 0; fromRow < rows; fromRow += step)
        items.push({ frame, segment, count: 1, fromRow, toRow: Math.min(rows, fromRow + step), room: null })
      segment++
      continue
    }
    let count = 1
    for (let size = sizeOf(s); !room && segment + count < segments.length; count++) {
      const next = segments[segment + count]!
      size += sizeOf(next)
      if ((count >= atOnce && size > most) || (count < atOnce && size > 16 * most)) break
      if (roomBound(plan, next) > SCRATCH_BYTES) break
    }
    items.push({ frame, segment, count, fromRow: 0, toRow: rows, room })
    segment += count
  }
  return items
}

function roomBound(plan: FramePlan, s: Segment): number {
  if (plan.packing === 'none') return 0
  return plan.packing === 'deflate' ? deflateRoom(plan, s) : losslessRoomBound(plan, s)
}

/** Memory for a segment that a worker's scratch may not hold; null for the usual ones. */
function roomBeyondScratch(arena: Arena, plan: FramePlan, s: Segment): Room | null {
  if (roomBound(plan, s) <= SCRATCH_BYTES) return null
  const bytes = plan.packing === 'deflate' ? deflateRoom(plan, s) : losslessRoom(arena, plan, s)
  return bytes <= SCRATCH_BYTES ? null : { at: arena.alloc(bytes), bytes }
}

function decodeItem(context: TaskContext, { frames, itemsAt }: DecodeParams, item: number): void {
  const { memory, scratch, scratchBytes } = context
  const [frame, first, count, fromRow, toRow, roomAt, roomBytes] = memory.f64(
    itemsAt + 8 * ITEM_NUMBERS * item,
    ITEM_NUMBERS,
  ) as unknown as [number, number, number, number, number, number, number]
  const plan = frames[frame]!
  const room = roomBytes > 0 ? { at: roomAt, bytes: roomBytes } : { at: scratch, bytes: scratchBytes }
  const atOnce = plan.packing === 'lossless-jpeg' ? 2 : 1
  for (let k = 0; k < count; k += atOnce)
    namingSegment(first + k, () => {
      const s = readSegment(memory, plan, first + k)
      if (plan.packing === 'lossless-jpeg') {
        const both = k + 1 < count ? [s, readSegment(memory, plan, first + k + 1)] : [s]
        decodeLossless(context, plan, both, room)
      } else if (plan.packing === 'deflate') decodeDeflated(context, plan, s, room)
      else if (count === 1) decodeUncompressed(context, plan, s, fromRow, toRow)
      else decodeUncompressed(context, plan, s, 0, visibleRows(plan, s))
    })
}

export const rawTasks: TaskTable = { 'raw.decode': decodeItem }
