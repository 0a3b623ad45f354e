/** A rectangle of pixels: left and top inclusive. */
export interface Region {
  readonly x: number
  readonly y: number
  readonly width: number
  readonly height: number
}

/** Exif orientation: 1 upright, 2 mirrored, 3 turned 180°, 4 mirrored and turned, 5–8 with the axes exchanged. */
export type Orientation = 1 | 2 | 3 | 4 | 5 | 6 | 7 | 8

/** Width and height as they stand once an orientation is applied. */
export const orientedSize = (width: number, height: number, o: Orientation) =>
  o >= 5 ? { width: height, height: width } : { width, height }

/**
 * Where the upright pixel (x, y) stands in the stored picture of the given size.
 * Exif 2.32 section 4.6.4 (Orientation): the side at which stored row 0 and column 0 stand.
 */
export function storedPosition(
  x: number,
  y: number,
  width: number,
  height: number,
  o: Orientation,
): readonly [number, number] {
  switch (o) {
    case 1:
      return [x, y]
    case 2:
      return [width - 1 - x, y]
    case 3:
      return [width - 1 - x, height - 1 - y]
    case 4:
      return [x, height - 1 - y]
    case 5:
      return [y, x]
    case 6:
      return [y, height - 1 - x]
    case 7:
      return [width - 1 - y, height - 1 - x]
    case 8:
      return [width - 1 - y, x]
  }
}
