/** Median of the finite values; NaN when there are none. Does not change its input. */
export function median(values: ArrayLike<number>): number {
  const sorted = Float64Array.from(values).filter(Number.isFinite).sort()
  const n = sorted.length
  if (n === 0) return Number.NaN
  const mid = n >> 1
  return n % 2 === 1 ? sorted[mid]! : (sorted[mid - 1]! + sorted[mid]!) / 2
}

/** Robust spread: median absolute deviation scaled to a Gaussian's standard deviation (factor 1.4826). */
export function robustSpread(values: ArrayLike<number>): number {
  const centre = median(values)
  return 1.4826 * median(Float64Array.from(values, (v) => Math.abs(v - centre)))
}

/** The q-quantile (0..1) of the finite values, linear between order statistics; NaN when there are none. */
export function quantile(values: ArrayLike<number>, q: number): number {
  const sorted = Float64Array.from(values).filter(Number.isFinite).sort()
  if (sorted.length === 0) return Number.NaN
  const at = Math.min(Math.max(q, 0), 1) * (sorted.length - 1)
  const low = Math.floor(at)
  const high = Math.min(low + 1, sorted.length - 1)
  return sorted[low]! + (sorted[high]! - sorted[low]!) * (at - low)
}

export interface LineFit {
  readonly slope: number
  readonly intercept: number
}

/** Least-squares line y = slope·x + intercept, optionally weighted. */
export function fitLine(x: ArrayLike<number>, y: ArrayLike<number>, weight?: ArrayLike<number>): LineFit {
  let sw = 0
  let sx = 0
  let sy = 0
  for (let i = 0; i < x.length; i++) {
    const w = weight?.[i] ?? 1
    sw += w
    sx += w * x[i]!
    sy += w * y[i]!
  }
  const mx = sx / sw
  const my = sy / sw
  let sxx = 0
  let sxy = 0
  for (let i = 0; i < x.length; i++) {
    const w = weight?.[i] ?? 1
    sxx += w * (x[i]! - mx) ** 2
    sxy += w * (x[i]! - mx) * (y[i]! - my)
  }
  const slope = sxy / sxx
  return { slope, intercept: my - slope * mx }
}
