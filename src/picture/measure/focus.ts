import type { Stretch } from './movement.ts'
import type { Shape } from './pool.ts'
import { roundSpread } from './round.ts'
import { type Spectrum, transformOn } from './spectrum.ts'
import { meanBlob, type Stack, stackBlur } from './stack.ts'

/** One ninth of the field. */
export interface FocusCell {
  /** Spread of the round part of the blobs there, pixels; null where too few lamps stand. */
  readonly blurPixels: number | null
  readonly lamps: number
}

export interface Focus {
  /**
   * Spread of the round part of the blob: standard deviation along either axis in pixels, movement and the pixel's own square
   * taken out. A Gaussian lens of σ gives σ, a disc of defocus of radius R gives R/2.
   */
  readonly blurPixels: number
  /**
   * 3 × 3 cells, row by row from the top left as stored: unequal sides show a tilted plane of focus, worse corners a curved
   * one. Empty when the reading is from edges.
   */
  readonly field: readonly FocusCell[]
  /** Largest over smallest spread of the cells; null with fewer than three of them. */
  readonly unevenness: number | null
}

/** The fewest lamps that speak for a ninth of the field. */
const FEWEST = 3

/** Focus from the whole frame's spectrum and the stacks of its ninths; `transform` is the one that gave the spectrum. */
export function focusOf(
  whole: Spectrum,
  transform: (blob: Float64Array) => Spectrum,
  cells: readonly { readonly stack: Stack; readonly lamps: number }[],
  shape: Shape,
  line: Stretch,
): Focus | null {
  const extra = stackBlur(cells[0]!.stack)
  const blurPixels = roundSpread(whole, line, extra)
  if (blurPixels === null) return null
  const field = cells.map(({ stack, lamps }) => ({
    lamps,
    blurPixels: lamps < FEWEST ? null : spreadOf(stack, shape, transform, line),
  }))
  const known = field.map((c) => c.blurPixels).filter((b) => b !== null)
  const unevenness = known.length < 3 ? null : Math.max(...known) / Math.max(Math.min(...known), 0.1)
  return { blurPixels, field, unevenness }
}

/** With rings made for the whole frame, or narrower ones where this part's blobs are larger. */
function spreadOf(
  stack: Stack,
  shape: Shape,
  transform: (blob: Float64Array) => Spectrum,
  line: Stretch,
): number | null {
  const blob = meanBlob(stack, shape)
  const first = transform(blob)
  const narrower = (scale: number) =>
    transformOn(
      first.rings.map((k) => k * scale),
      stack.side,
      stack.cell,
    )(blob)
  const blur = stackBlur(stack)
  return (
    roundSpread(first, line, blur) ?? roundSpread(narrower(0.7), line, blur) ?? roundSpread(narrower(0.5), line, blur)
  )
}
