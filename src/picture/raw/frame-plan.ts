import { Failure } from '#core/base'
import type { Address, Memory } from '#core/kernels'
import type { Packing, Segment } from './types.ts'

/** What a task needs to know of one raw file: plain data, so that it reaches workers by copying. */
export interface FramePlan {
  readonly fileAt: Address
  readonly fileBytes: number
  readonly destination: Address
  readonly width: number
  readonly height: number
  readonly samplesPerPixel: number
  readonly bits: number
  readonly packing: Packing
  readonly predictor: number
  readonly littleEndian: boolean
  /** Linearisation table, u16; 0 entries when the file has none. */
  readonly curveAt: Address
  readonly curveEntries: number
  /** The segments' numbers, f64: x, y, width, height, offset, byteCount of each. */
  readonly segmentsAt: Address
}

/** A stretch of memory that a task may use as it likes. */
export interface Room {
  readonly at: Address
  readonly bytes: number
}

const SEGMENT_NUMBERS = 6

export function writeSegments(memory: Memory, at: Address, segments: readonly Segment[]): void {
  const numbers = memory.f64(at, segmentBytes(segments.length) / 8)
  segments.forEach((s, i) => {
    numbers.set([s.x, s.y, s.width, s.height, s.offset, s.byteCount], i * SEGMENT_NUMBERS)
  })
}

export const segmentBytes = (count: number) => count * SEGMENT_NUMBERS * 8

export function readSegment(memory: Memory, plan: FramePlan, index: number): Segment {
  const n = memory.f64(plan.segmentsAt + segmentBytes(index), SEGMENT_NUMBERS)
  return { x: n[0]!, y: n[1]!, width: n[2]!, height: n[3]!, offset: n[4]!, byteCount: n[5]! }
}

/** The part of a segment that lies in the picture: its first columns and rows. */
export const visibleColumns = (plan: FramePlan, s: Segment) => Math.min(s.width, plan.width - s.x)
export const visibleRows = (plan: FramePlan, s: Segment) => Math.min(s.height, plan.height - s.y)

/** Bytes from one row of the picture to the next. */
export const pictureStride = (plan: FramePlan) => 2 * plan.width * plan.samplesPerPixel

/** Where a segment's row goes. */
export const placeOf = (plan: FramePlan, s: Segment, row = 0): Address =>
  plan.destination + (s.y + row) * pictureStride(plan) + 2 * s.x * plan.samplesPerPixel

/** Bytes of one row of an uncompressed or deflated segment: rows start at whole bytes. */
export const packedRowBytes = (plan: FramePlan, s: Segment) =>
  Math.ceil((s.width * plan.samplesPerPixel * plan.bits) / 8)

/** Runs a segment's work; a failure in it names the segment. */
export function namingSegment(index: number, work: () => void): void {
  try {
    work()
  } catch (error) {
    throw error instanceof Failure ? error.with({ segment: index }) : error
  }
}
