/** Linear sRGB: what a surface reflects, or what a lamp gives. */
export type Colour = readonly [number, number, number]

/** A street lamp or a floodlight. */
export interface Lamp {
  readonly x: number
  readonly y: number
  readonly z: number
  /** Linear sRGB, as the radiance of a white surface facing it at 1 m. */
  readonly power: Colour
  /** Street lamps light downward only; floodlights and windows light all round. */
  readonly isShaded: boolean
}

/** High-pressure sodium and 4000 K light-emitting diodes, as linear sRGB of equal luminance. */
export const sodium: Colour = [1.62, 0.86, 0.12]
export const diode: Colour = [1.2, 0.97, 0.62]
export const warm: Colour = [1.4, 0.9, 0.42]

export const scaled = (c: Colour, k: number): Colour => [c[0] * k, c[1] * k, c[2] * k]
