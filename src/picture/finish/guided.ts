/** A plane of small size, row by row. */
export interface SmallPlane {
  readonly width: number
  readonly height: number
  readonly data: Float32Array
}

/** Mean over the (2·radius + 1)² window, cut off at the borders; running sums, so the cost does not depend on radius. */
export function boxMean({ width, height, data }: SmallPlane, radius: number): SmallPlane {
  const across = new Float32Array(data.length)
  for (let y = 0; y < height; y++) meanAcross(data, across, y * width, width, radius)
  const out = new Float32Array(data.length)
  const sums = new Float64Array(width)
  for (let y = 0; y < Math.min(radius, height); y++) for (let x = 0; x < width; x++) sums[x]! += across[y * width + x]!
  for (let y = 0; y < height; y++) {
    const enters = y + radius < height ? (y + radius) * width : -1
    const leaves = y - radius - 1 >= 0 ? (y - radius - 1) * width : -1
    const share = 1 / (Math.min(y + radius, height - 1) - Math.max(y - radius, 0) + 1)
    if (enters >= 0) for (let x = 0; x < width; x++) sums[x]! += across[enters + x]!
    if (leaves >= 0) for (let x = 0; x < width; x++) sums[x]! -= across[leaves + x]!
    for (let x = 0, i = y * width; x < width; x++, i++) out[i] = sums[x]! * share
  }
  return { width, height, data: out }
}

/** The row that begins at `row`, each sample the mean of those at most `radius` from it. */
function meanAcross(data: Float32Array, out: Float32Array, row: number, width: number, radius: number): void {
  let sum = 0
  for (let x = 0; x < Math.min(radius, width); x++) sum += data[row + x]!
  for (let x = 0; x < width; x++) {
    if (x + radius < width) sum += data[row + x + radius]!
    if (x - radius - 1 >= 0) sum -= data[row + x - radius - 1]!
    out[row + x] = sum / (Math.min(x + radius, width - 1) - Math.max(x - radius, 0) + 1)
  }
}

/** base = a · value + b, with a and b smooth: the form that can be applied at any resolution. */
export interface BaseLayer {
  readonly a: Float32Array
  readonly b: Float32Array
}

/** Mean and mean square of the values in each cell of a plane. */
export interface Moments {
  readonly width: number
  readonly height: number
  readonly mean: Float32Array
  readonly square: Float32Array
}

/** Weight of the best window against the worst when windows are averaged: 1/δ against 1/(1/4 + δ). */
const WINDOW_DOUBT = 0.01

/**
 * A self-guided filter (after He, Sun, Tang 2010, "Guided image filtering", equations 5, 6 and 8 with guide = input), with
 * three changes against halos. `keep` is the standard deviation (in the plane's unit) at which a window counts half as
 * texture, which leaves the base, and half as structure, which stays in it.
 *
 * a = v² / (v² + keep⁴), v the window's variance: structure well above the limit is followed almost exactly, where the
 * original v / (v + keep²) always leaves a share of it out. v is taken over pixels, so that a cell which an edge crosses
 * counts as both its sides. And windows are averaged with the weight 1 / (a (1 − a) + δ): beside an edge those decide that
 * are clearly even or clearly structure.
 */
export function guidedBase(moments: Moments, radius: number, keep: number): BaseLayer {
  const { width, height } = moments
  const of = (data: Float32Array) => boxMean({ width, height, data }, radius).data
  const mean = of(moments.mean)
  const square = of(moments.square)
  const limit = keep ** 4
  const weight = new Float32Array(mean.length)
  const a = new Float32Array(mean.length)
  const b = new Float32Array(mean.length)
  for (let i = 0; i < mean.length; i++) {
    const variance = Math.max(0, square[i]! - mean[i]! * mean[i]!)
    const slope = (variance * variance) / (variance * variance + limit)
    weight[i] = 1 / (slope * (1 - slope) + WINDOW_DOUBT)
    a[i] = slope * weight[i]!
    b[i] = mean[i]! * (1 - slope) * weight[i]!
  }
  const weights = of(weight)
  const [as, bs] = [of(a), of(b)]
  for (let i = 0; i < mean.length; i++) {
    as[i]! /= weights[i]!
    bs[i]! /= weights[i]!
  }
  return { a: as, b: bs }
}
