import type { Counter, Frame } from './frame.ts'

/** A frame in its place in the sequence, with what the segmentation compares. */
export interface Placed {
  readonly frame: Frame
  /** Camera clock made steady (clock-steps.ts), seconds; null when the file gives none. */
  readonly seconds: number | null
  /** The clock was set by an unknown amount before this frame: the pause before it is not known. */
  readonly gapUnknown: boolean
  /** The same, or where the frame has no time that of the frame before it by name: what it is put in order by. */
  readonly orderSeconds: number
  /** 0 when the clock has parts of a second, else 1: what the difference of two readings may be wrong by. */
  readonly clockStepSeconds: number
  readonly counter: Counter | null
  /** log2 of t·S/(100·N²): one more = twice the exposure; only comparable where `known` agrees. Null without a time. */
  readonly stops: number | null
  /** Which of t, S, N the file gives. */
  readonly known: string
}
