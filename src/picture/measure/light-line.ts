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

/**
 * Weighted sums about a line: Σw, Σwx, Σwy, Σwx², Σwxy. A function of its own, because an engine that compiles the loop
 * inside a longer one throws the result away at the first line behind it, every time.
 */
function weightedSums({ x, y, scatter, n }: LinePoints, slope: number, veil: number, into: Float64Array): void {
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
  into[0] = w
  into[1] = sx
  into[2] = sy
  into[3] = xx
  into[4] = xy
}

/** A line by least squares, reweighted so that a far point says little (Cauchy). Null when the points lie in one place. */
export function lineThrough(points: LinePoints, start: Pick<Line, 'slope' | 'veil'>, passes: number): Line | null {
  const sums = new Float64Array(5)
  let { slope, veil } = start
  let veilError = 0
  for (let pass = 0; pass < passes; pass++) {
    weightedSums(points, slope, veil, sums)
    const [w, sx, sy, xx, xy] = sums as unknown as [number, number, number, number, number]
    const spread = xx - (sx * sx) / w
    if (!(spread > 0)) return null
    slope = (xy - (sx * sy) / w) / spread
    veil = (sy - slope * sx) / w
    veilError = Math.sqrt(1 / w + (sx / w) ** 2 / spread)
  }
  return slope > 0 && Number.isFinite(slope) ? { slope, veil, veilError } : null
}
