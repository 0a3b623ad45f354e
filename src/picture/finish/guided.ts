/** A plane of small size, row by row. */
export interface SmallPlane {
  readonly width: number
  readonly height: number
  readonly data: Float32Array
}

/** Mean over the (2·radius + 1)² window, cut off at the borders; running sums, so the cost does not depend on radius. */
export function boxMean({ width, height, data }: SmallPlane, radius: number): SmallPlane {
  const across = new Float32Array(data.length)
  for (let y = 0; y < height; y++) {
    const row = y * width
    let sum = 0
    let count = 0
    for (let x = 0; x < Math.min(radius, width); x++, count++) sum += data[row + x]!
    for (let x = 0; x < width; x++) {
      if (x + radius < width) {
        sum += data[row + x + radius]!
        count++
      }
      if (x - radius - 1 >= 0) {
        sum -= data[row + x - radius - 1]!
        count--
      }
      across[row + x] = sum / count
    }
  }
  const out = new Float32Array(data.length)
  const sums = new Float64Array(width)
  let count = 0
  const add = (y: number, sign: number) => {
    for (let x = 0; x < width; x++) sums[x]! += sign * across[y * width + x]!
    count += sign
  }
  for (let y = 0; y < Math.min(radius, height); y++) add(y, 1)
  for (let y = 0; y < height; y++) {
    if (y + radius < height) add(y + radius, 1)
    if (y - radius - 1 >= 0) add(y - radius - 1, -1)
    for (let x = 0; x < width; x++) out[y * width + x] = sums[x]! / count
  }
  return { width, height, data: out }
}

/** base = a · value + b, with a and b smooth: the form that can be applied at any resolution. */
export interface BaseLayer {
  readonly a: Float32Array
  readonly b: Float32Array
}

/**
 * The self-guided filter (He, Sun, Tang 2010, "Guided image filtering", equations 5, 6 and 8 with guide = input).
 * `keep` is the standard deviation (in the plane's unit) below which a window counts as texture and leaves the base.
 *
 * Next to a step of D in a window of which the share p lies across, the base strays from the flat side by at most
 * D p keep² / (D² p (1 − p) + keep²): for p ≤ ½ never more than keep / 2, at D = 2 keep; 0.03 at D = 6, keep = 0.3.
 */
export function guidedBase(plane: SmallPlane, radius: number, keep: number): BaseLayer {
  const { width, height, data } = plane
  const mean = boxMean(plane, radius).data
  const square = boxMean({ width, height, data: data.map((v) => v * v) }, radius).data
  const a = new Float32Array(data.length)
  const b = new Float32Array(data.length)
  for (let i = 0; i < data.length; i++) {
    const variance = Math.max(0, square[i]! - mean[i]! * mean[i]!)
    a[i] = variance / (variance + keep * keep)
    b[i] = mean[i]! * (1 - a[i]!)
  }
  return { a: boxMean({ width, height, data: a }, radius).data, b: boxMean({ width, height, data: b }, radius).data }
}
