import type { BracketLevels } from './bracket-levels.ts'
import type { FrameLevels } from './frame-levels.ts'

/** Motion in a frame, in full-resolution pixels. */
export interface SmearFinding {
  readonly pixels: number
  readonly directionDegrees: number | null
  /** 0..1. */
  readonly confidence: number
}

/** One frame with all that was measured of it. */
export interface VerdictFrame {
  readonly file: string
  readonly exposureSeconds: number | null
  readonly iso: number | null
  /** Light recorded, in stops, from the tags; NaN when unknown. */
  readonly exposureStops: number
  readonly smear: SmearFinding | null
  readonly focus: { readonly blurPixels: number } | null
  /** Null when the pixels could not be read. */
  readonly levels: FrameLevels | null
}

export interface VerdictBracket {
  readonly frames: readonly VerdictFrame[]
  /** Frames that such a bracket should have, from the card's habit; null when unknown. */
  readonly expectedFrames: number | null
  /** Step between exposures in stops; null when unknown. */
  readonly stepStops: number | null
  /** Farthest shift between frames as a share of the picture's width, where alignment has measured it; null = as `levels` has it. */
  readonly driftShare: number | null
  readonly levels: BracketLevels | null
}
