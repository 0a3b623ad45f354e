import type { Triple } from '#core/base'
import type { TownView } from './town/view.ts'

/** A point of light on the picture: a Gaussian spot that holds `flux` (linear sRGB × square pixels). */
export interface Spot {
  /** Pixels of the nominal picture; may lie outside. */
  readonly x: number
  readonly y: number
  readonly sigma: number
  readonly flux: Triple
}

/**
 * What stands before the lens, as linear sRGB radiance on a pixel grid of the nominal width × height; rows and columns
 * outside it are there too. 1.0 = saturation of the reference frame.
 */
export interface Scene {
  /** Writes n interleaved RGB triples of row y from column `left` on. */
  row(y: number, left: number, n: number, out: Float32Array): void
  /** Lights too small or too bright to be sampled by rows; added after the optics' blur. */
  spots(): readonly Spot[]
}

/** A scene by name and plain parameters, so that every worker can build the same one. */
export type SceneRequest =
  | {
      /** Smooth band-limited colour pattern of known formula: for alignment and motion. */
      readonly kind: 'waves'
      readonly seed: number
      /** Shortest period in pixels; default 9. */
      readonly shortestPeriod?: number
      readonly mean?: number
    }
  /** Vertical bands of even light from `low` to `high` in equal ratios: for noise. */
  | { readonly kind: 'bands'; readonly bands: number; readonly low: number; readonly high: number }
  /** The invented river town at dusk. */
  | { readonly kind: 'town'; readonly view: TownView }
