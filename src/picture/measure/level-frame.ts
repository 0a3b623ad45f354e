import type { Address } from '#core/kernels'
import type { CfaColour, CfaPattern } from '#core/pixels'
import type { NoiseTerm } from '#core/sensor'

export type FourPhases = readonly [number, number, number, number]
export type ThreeColours = readonly [number, number, number]

/** A mosaic ready to be measured: u16 samples of the active area, row by row, after linearisation and before black. */
export interface LevelFrame {
  readonly at: Address
  readonly width: number
  readonly height: number
  readonly cfa: CfaPattern
  /** Black of the four phases (even row even column, even odd, odd even, odd odd), in codes. */
  readonly black: FourPhases
  /** What 1.0 is above black, in codes: white minus the largest black. */
  readonly range: number
  /** The file's white level in codes. */
  readonly white: number
  /** The file's own noise profile for red, green, blue; null when it has none. */
  readonly profile: readonly [NoiseTerm, NoiseTerm, NoiseTerm] | null
}

/** The phases that see one colour: one for red and blue, two for green. */
export const phasesOf = (cfa: CfaPattern, colour: CfaColour): readonly number[] =>
  [0, 1, 2, 3].filter((phase) => cfa[phase] === colour)

export const COLOURS = [0, 1, 2] as const

/** One number per colour as the contract names them. */
export interface PerColour {
  readonly r: number
  readonly g: number
  readonly b: number
}

export const perColour = (of: (colour: CfaColour) => number): PerColour => ({ r: of(0), g: of(1), b: of(2) })
