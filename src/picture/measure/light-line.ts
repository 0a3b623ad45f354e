/** Light = slope·expected + veil. */
export interface Line {
  readonly slope: number
  readonly veil: number
  readonly veilError: number
}

export interface LinePoints {
  readonly x: Float64Array
  readonly y: Float64Array
  /** Variance of y about the line. */
  readonly scatter: Float64Array
  /** Points in use. */
  readonly n: number
}

/** A line by least squares, reweighted so that a far point says little (Cauchy). Null when the points lie in one place. */
export function lineThrough(
  { x, y, scatter, n }: LinePoints,
  start: Pick<Line, 'slope' | 'veil'>,
  passes: number,
): Line | null {
  let { slope, veil } = start
  let veilError = 0
  for (let pass = 0; pass < passes; pass++) {
    let [w, sx, sy, xx, xy] = [0, 0, 0, 0, 0]
    for (let k = 0; k < n; k++) {
      const [px, py] = [x[k]!, y[k]!]
      const off = py - slope * px - veil
      const weight = 1 / (scatter[k]! + (off * off) / 4)
      w += weight
      sx += weight * px
      sy += weight * py
      xx += weight * px * px
      xy += weight * px * py
    }
    const spread = xx - (sx * sx) / w
    if (!(spread > 0)) return null
    slope = (xy - (sx * sy) / w) / spread
    veil = (sy - slope * sx) / w
    veilError = Math.sqrt(1 / w + (sx / w) ** 2 / spread)
  }
  return slope > 0 && Number.isFinite(slope) ? { slope, veil, veilError } : null
}
