/** Depth of field of a simple lens; lengths in millimetres, distances in metres (common practice). */
export interface FocusLens {
  readonly focalLengthMillimetres: number
  readonly fNumber: number
  /** Blur that may show, as a diameter on the sensor. */
  readonly circleMillimetres: number
}

/** Focus here, and everything from half of it to infinity is within the circle: f²/(N c) + f. Metres. */
export const hyperfocalMetres = ({ focalLengthMillimetres: f, fNumber, circleMillimetres }: FocusLens): number =>
  ((f * f) / (fNumber * circleMillimetres) + f) / 1000

/** Nearest and farthest sharp distance at a focus distance, metres; far is infinite beyond the hyperfocal distance. */
export function sharpRange(lens: FocusLens, focusMetres: number): { readonly near: number; readonly far: number } {
  const h = hyperfocalMetres(lens)
  const f = lens.focalLengthMillimetres / 1000
  const near = (focusMetres * (h - f)) / (h + focusMetres - 2 * f)
  return { near, far: focusMetres >= h ? Number.POSITIVE_INFINITY : (focusMetres * (h - f)) / (h - focusMetres) }
}
