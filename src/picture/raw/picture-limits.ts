/** The largest picture that is read: well above any camera on a small aircraft, well below what fills memory. */
export const MAX_SIDE = 65_000
export const MAX_PIXELS = 400_000_000
/** Strips or tiles of one picture. */
export const MAX_SEGMENTS = 200_000
