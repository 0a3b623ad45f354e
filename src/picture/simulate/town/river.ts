/** The river and its works, as formulas of the ground plan. Quays stand at height 0; metres everywhere. */

/** The river's bends, as a formula; `midstream` reads them from a table, for it is asked for at every pixel. */
const bends = (y: number) =>
  -16 + 34 * Math.sin((y - 40) / 105) * Math.exp(-(((y - 190) / 260) ** 2)) + 58 * Math.sin((y - 150) / 260)

const TABLE_SOUTH = -300
const TABLE_STEP = 0.5
const table = Float64Array.from({ length: 6000 }, (_, i) => bends(TABLE_SOUTH + i * TABLE_STEP))

/** Place in the table, and the share of the next entry. */
const placeOf = (y: number) => Math.min(Math.max((y - TABLE_SOUTH) / TABLE_STEP, 0), table.length - 2)

/** The middle of the river, east, by northing. */
export function midstream(y: number): number {
  const at = placeOf(y)
  const i = Math.floor(at)
  return table[i]! + (table[i + 1]! - table[i]!) * (at - i)
}

/** Its slope, east per north. */
export function midstreamSlope(y: number): number {
  const i = Math.floor(placeOf(y))
  return (table[i + 1]! - table[i]!) / TABLE_STEP
}

const HALF_WIDTH = 23

/** Metres from the bank, positive on land; `side` −1 left (west), 1 right. */
export function offBank(x: number, y: number): number {
  const slope = midstreamSlope(y)
  return Math.abs(x - midstream(y)) / Math.sqrt(1 + slope * slope) - HALF_WIDTH
}

export const sideOf = (x: number, y: number): -1 | 1 => (x < midstream(y) ? -1 : 1)

/** A point by its distance from a bank. */
export function fromBank(
  side: -1 | 1,
  off: number,
  y: number,
): { readonly x: number; readonly y: number; readonly slope: number } {
  const slope = midstreamSlope(y)
  return { x: midstream(y) + side * (HALF_WIDTH + off) * Math.sqrt(1 + slope * slope), y, slope }
}

/** The lock lies along the right bank: a cut 9 to 16 m from the water, open to the river at both ends. */
export const lock = { near: 8, far: 15.5, south: 128, north: 226, lowerGate: 150, upperGate: 204, mouth: 10 } as const

/** True where there is water. */
export function isWater(x: number, y: number): boolean {
  // Beyond the town the river bends away behind the woods.
  if (y > 1080) return false
  const off = offBank(x, y)
  if (off < 0) return true
  if (off > lock.far || y < lock.south || y > lock.north || sideOf(x, y) < 0) return false
  return off > lock.near || y < lock.south + lock.mouth || y > lock.north - lock.mouth
}

/** The weir's crest, north, by easting: it crosses aslant, so that it is longer than the river is wide. */
export const crest = (x: number) => 186 + 0.42 * (x - midstream(186))

export const UPPER_LEVEL = -1.1
export const LOWER_LEVEL = -3.1
/** True where the upper water stands (above the weir, or in the lock above its lower gate). */
export function isUpper(x: number, y: number): boolean {
  return offBank(x, y) < 0 ? y > crest(x) : y > lock.lowerGate
}

/** Unit direction from a point on a bank's edge toward the water beside it, into out: east and north. */
export function towardWater(x: number, y: number, out: Float64Array): void {
  const wet = (dx: number, dy: number) => (isWater(x + dx, y + dy) ? 1 : 0)
  const d = 0.6
  const s = 0.42
  const ex = wet(d, 0) - wet(-d, 0) + 0.7 * (wet(s, s) + wet(s, -s) - wet(-s, s) - wet(-s, -s))
  const ny = wet(0, d) - wet(0, -d) + 0.7 * (wet(s, s) + wet(-s, s) - wet(s, -s) - wet(-s, -s))
  const size = Math.hypot(ex, ny) || 1
  out[0] = ex / size
  out[1] = ny / size
}
