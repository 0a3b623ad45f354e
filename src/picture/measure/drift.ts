import { apply3, invert3, type Triple } from '#core/base'
import type { FrameLight } from './frame-light.ts'
import { FEWEST, scatterAt } from './frame-light.ts'
import { type Line, type LinePoints, lineThrough } from './light-line.ts'

type Start = Pick<Line, 'slope' | 'veil'>
type Shift = readonly [number, number]

const DRIFT_PASSES = 12
/** Straight lines between cells miss an eighth of the bend at most, and detail finer than the cells misses more: a quarter. */
const BEND = 0.25
/** Drifts beyond this many cells are not looked for. */
const FARTHEST = 8

/**
 * How far the frame's picture stands from the expected one, in cells right and down, by least squares on the expected one's slopes
 * (Lucas, Kanade 1981). Left in, rows of windows a little aside would pass for bands. The exposure ratio and the veil are
 * fitted with it: a sky that brightens upwards looks the same a little lower as a little brighter. Null when it does not settle.
 */
export function driftOf(
  own: FrameLight,
  expected: Float32Array,
  variance: Float32Array,
  first: Start,
): readonly [number, number] | null {
  const coarse = coarseDrift(own, expected, variance, first)
  let { drift, slope, veil } = coarse
  for (let pass = 0; pass < DRIFT_PASSES; pass++) {
    const step = stepOf(own, shifted(own, expected, drift), shifted(own, variance, drift), { slope, veil })
    if (!step) return null
    drift = [drift[0] + step.drift[0], drift[1] + step.drift[1]]
    slope += step.slope
    veil += step.veil
    if (!(Math.hypot(...drift) < FARTHEST && slope > 0)) return null
    if (Math.hypot(...step.drift) < 0.01) break
  }
  return drift
}

/** One step of least squares in shift, exposure ratio and veil together. */
function stepOf(
  { columns, rows, light, noise }: FrameLight,
  there: Float32Array,
  variance: Float32Array,
  { slope, veil }: Start,
): (Start & { readonly drift: Shift }) | null {
  let [w, x, y, z, o] = [0, 0, 0, 0, 0]
  let [xx, xy, xz, yy, yz, zz, xo, yo, zo] = [0, 0, 0, 0, 0, 0, 0, 0, 0]
  for (let r = 1; r < rows - 1; r++)
    for (let i = r * columns + 1; i < (r + 1) * columns - 1; i++) {
      const gx = -0.5 * slope * (there[i + 1]! - there[i - 1]!)
      const gy = -0.5 * slope * (there[i + columns]! - there[i - columns]!)
      const level = there[i]!
      const off = light[i]! - slope * level - veil
      const bx = there[i + 1]! + there[i - 1]! - 2 * level
      const by = there[i + columns]! + there[i - columns]! - 2 * level
      const s =
        scatterAt(noise, slope * level, slope * slope * variance[i]!) + (BEND * slope) ** 2 * (bx * bx + by * by)
      // Weakly robust: a picture two cells aside differs a lot everywhere, and must not be ignored for it.
      const weight = 1 / (s + (off * off) / 100)
      // What is unknown anywhere is no number here and fails the test.
      if (!(Math.abs(weight + gx + gy) < Number.POSITIVE_INFINITY)) continue
      const [wx, wy, wz] = [weight * gx, weight * gy, weight * level]
      w += weight
      x += wx
      y += wy
      z += wz
      o += weight * off
      xx += wx * gx
      xy += wx * gy
      xz += wx * level
      yy += wy * gy
      yz += wy * level
      zz += wz * level
      xo += wx * off
      yo += wy * off
      zo += wz * off
    }
  if (!(w > 0)) return null
  // The veil is taken out by centring; the rest is scaled by its own spread, so that units do not matter.
  const [sx, sy, sz] = [root(xx - (x * x) / w), root(yy - (y * y) / w), root(zz - (z * z) / w)]
  const a = (xy - (x * y) / w) / (sx * sy)
  const b = (xz - (x * z) / w) / (sx * sz)
  const c = (yz - (y * z) / w) / (sy * sz)
  const inverse = invert3([1, a, b, a, 1, c, b, c, 1])
  if (!(1 + 2 * a * b * c - a * a - b * b - c * c > 1e-6) || !inverse) return null
  const right: Triple = [(xo - (x * o) / w) / sx, (yo - (y * o) / w) / sy, (zo - (z * o) / w) / sz]
  const [p, q, t] = apply3(inverse, right)
  const [dx, dy, dz] = [p / sx, q / sy, t / sz]
  return { drift: [dx, dy], slope: dz, veil: (o - dx * x - dy * y - dz * z) / w }
}

const root = (v: number) => Math.sqrt(Math.max(v, 0))

/** Whole cells that are tried to either side, across and down: 144 and 112 pixels of 12 MP. */
const [TRIED_ACROSS, TRIED_DOWN] = [3, 7]
/** A cell that differs by more than so many deviations has changed, and by how much says nothing. */
const CHANGED = 16
const LINE_PASSES = 2

/**
 * The shift by whole cells under which most cells agree: least squares alone settle on the next row of houses. Each
 * shift is given its own exposure ratio and veil.
 */
function coarseDrift(
  own: FrameLight,
  expected: Float32Array,
  variance: Float32Array,
  first: Start,
): Start & { readonly drift: Shift } {
  let best: Start & { readonly drift: Shift } = { drift: [0, 0], slope: first.slope, veil: first.veil }
  let least = Number.POSITIVE_INFINITY
  const room = own.columns * own.rows
  const points = { x: new Float64Array(room), y: new Float64Array(room), scatter: new Float64Array(room) }
  for (let dy = -TRIED_DOWN; dy <= TRIED_DOWN; dy++)
    for (let dx = -TRIED_ACROSS; dx <= TRIED_ACROSS; dx++) {
      const n = pointsAt(own, expected, variance, [dx, dy], first, points)
      const line = n >= FEWEST ? lineThrough({ ...points, n }, first, LINE_PASSES) : null
      if (!line) continue
      const cost = disagreement({ ...points, n }, line)
      if (cost < least) {
        least = cost
        best = { drift: [dx, dy], slope: line.slope, veil: line.veil }
      }
    }
  return best
}

/** Every eighth cell that both have under a shift; returns how many. */
function pointsAt(
  { columns, rows, light, noise }: FrameLight,
  expected: Float32Array,
  variance: Float32Array,
  [dx, dy]: Shift,
  { slope }: Start,
  to: Omit<LinePoints, 'n'>,
): number {
  let n = 0
  for (let y = TRIED_DOWN; y < rows - TRIED_DOWN; y += 2)
    for (let x = TRIED_ACROSS + (y & 3); x < columns - TRIED_ACROSS; x += 4) {
      const i = y * columns + x
      const from = i - dy * columns - dx
      if (Number.isNaN(light[i]! + expected[from]!)) continue
      to.x[n] = expected[from]!
      to.y[n] = light[i]!
      to.scatter[n] = scatterAt(noise, slope * expected[from]!, slope * slope * variance[from]!)
      n++
    }
  return n
}

/** Mean square by which points miss a line, in their own variance. */
function disagreement({ x, y, scatter, n }: LinePoints, { slope, veil }: Start): number {
  let sum = 0
  for (let k = 0; k < n; k++) {
    const off = y[k]! - slope * x[k]! - veil
    sum += Math.min(CHANGED, (off * off) / scatter[k]!)
  }
  return sum / n
}

/** The expected picture as seen from where the frame stands, between cells by straight lines; NaN beyond its edge. */
export function shifted(
  { columns, rows }: FrameLight,
  from: Float32Array,
  [dx, dy]: readonly [number, number],
): Float32Array {
  if (Math.hypot(dx, dy) < 0.02) return from.slice()
  const to = new Float32Array(from.length).fill(Number.NaN)
  const [ix, iy] = [Math.floor(-dx), Math.floor(-dy)]
  const [fx, fy] = [-dx - ix, -dy - iy]
  for (let y = Math.max(0, -iy); y < Math.min(rows, rows - 1 - iy); y++)
    for (let x = Math.max(0, -ix); x < Math.min(columns, columns - 1 - ix); x++) {
      const at = (y + iy) * columns + x + ix
      const upper = from[at]! + fx * (from[at + 1]! - from[at]!)
      const lower = from[at + columns]! + fx * (from[at + columns + 1]! - from[at + columns]!)
      to[y * columns + x] = upper + fy * (lower - upper)
    }
  return to
}
