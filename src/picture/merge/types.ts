import type { Address } from '#core/kernels'
import type { CfaPattern } from '#core/pixels'

/** Noise of one colour: variance = scale·x + offset, x linear with 1 = saturation. */
export interface FrameNoise {
  readonly scale: number
  readonly offset: number
}

/**
 * One frame ready to merge: u16 samples of the active area in the shared memory. A mosaic is one plane of
 * width × height; a picture in planes is three of them, red, green, blue, at `at`.
 */
export interface MergeFrame {
  readonly at: Address
  /** Black of the four phases (even row even column, even odd, odd even, odd odd); for planes: red, green, blue, unused. */
  readonly black: readonly [number, number, number, number]
  /** What 1.0 is above black, in the same order: white minus the largest black of the colour. */
  readonly range: readonly [number, number, number, number]
  /** Red, green, blue. */
  readonly noise: readonly [FrameNoise, FrameNoise, FrameNoise]
  /** Exposure against the reference by the file's tags, in stops; positive = more light recorded. */
  readonly nominalStops: number
}

export interface MergeInput {
  readonly width: number
  readonly height: number
  /** Null for pictures in planes. */
  readonly cfa: CfaPattern | null
  readonly frames: readonly MergeFrame[]
  readonly reference: number
}

/**
 * How a frame's content stands to the reference's: the reference's point p is found at c + R(p − c) + (x, y) in the
 * frame, c the picture's centre, R a turn clockwise as seen. Full-resolution pixels, x right, y down.
 */
export interface Motion {
  readonly x: number
  readonly y: number
  readonly rotationDegrees: number
  /** What is left in four fifths of the well determined tiles of the picture, as a root mean square in full-resolution pixels; null when none is. */
  readonly residualPixels: number | null
  /** False when no motion could be found and none is assumed. */
  readonly found: boolean
}

export interface MergedFrame {
  readonly motion: Motion
  readonly nominalStops: number
  /** Exposure against the reference as the pixels have it; the nominal one when they cannot tell. */
  readonly ratioStops: number
  readonly ratioSolved: boolean
}

export interface Merged {
  /** f32 planes of width × height, 1.0 = saturation of the reference frame: one for a mosaic, three for planes. */
  readonly planes: readonly Address[]
  /** f32, variance of the samples of the mosaic, or of green for planes, in the square of the same units. */
  readonly variance: Address
  readonly frames: readonly MergedFrame[]
  /** Share of samples clipped in every frame, 0..1. */
  readonly clippedShare: number
  /** The largest value a sample can have had without clipping: saturation of the frame with the least exposure. */
  readonly ceiling: number
}
