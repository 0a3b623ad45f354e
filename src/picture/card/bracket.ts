import type { BracketReading } from './cost.ts'
import type { Frame } from './frame.ts'
import type { Placed } from './placed.ts'
import type { Segmentation } from './segment.ts'

/** Frames of one composition at stepped exposures. */
export interface Bracket {
  /** "0001", "0002" … in the order of taking. */
  readonly id: string
  /** In the order of taking. */
  readonly frames: readonly Frame[]
  /** The frame of the middle exposure (the shorter of two), among `frames`. */
  readonly reference: Frame
  readonly stepStops: number
  /** Probability, under the model, of exactly this grouping, 0..1. */
  readonly confidence: number
  readonly evidence: readonly string[]
}

/** Where in the sequence a bracket was found: what the doubts are read from. */
export interface Finding {
  readonly stream: readonly Placed[]
  readonly segmentation: Segmentation
  /** Frames from…to−1 of the stream. */
  readonly from: number
  readonly to: number
  readonly reading: BracketReading
  readonly probability: number
}

export type FoundBracket = Finding & { readonly bracket: Bracket }
