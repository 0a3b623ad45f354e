/** The finite values, copied. */
function finite(values: ArrayLike<number>): Float64Array {
  const kept = new Float64Array(values.length)
  let n = 0
  for (let i = 0; i < values.length; i++) {
    const v = values[i]!
    if (v - v === 0) kept[n++] = v
  }
  return kept.subarray(0, n)
}

/** Rounds of selection after which a sort is the safer way: an order that defeats the choice of pivots. */
const MOST_ROUNDS = 100

/**
 * The k-th smallest value, found without sorting them all; afterwards none before place k is larger and none behind it
 * smaller (Hoare 1961).
 */
function select(a: Float64Array, k: number): number {
  let low = 0
  let high = a.length - 1
  for (let round = 0; low < high; round++) {
    if (round === MOST_ROUNDS) {
      a.subarray(low, high + 1).sort()
      break
    }
    const [x, y, z] = [a[low]!, a[(low + high) >> 1]!, a[high]!]
    const pivot = Math.max(Math.min(x, y), Math.min(Math.max(x, y), z))
    let i = low
    let j = high
    while (i <= j) {
      while (a[i]! < pivot) i++
      while (a[j]! > pivot) j--
      if (i > j) break
      const swapped = a[i]!
      a[i++] = a[j]!
      a[j--] = swapped
    }
    if (k <= j) high = j
    else if (k >= i) low = i
    else break
  }
  return a[k]!
}

/** The smallest value from place `from` on. */
function leastFrom(a: Float64Array, from: number): number {
  let least = a[from]!
  for (let i = from + 1; i < a.length; i++) if (a[i]! < least) least = a[i]!
  return least
}

/** Median of the finite values; NaN when there are none. Does not change its input. */
export function median(values: ArrayLike<number>): number {
  const all = finite(values)
  const n = all.length
  if (n === 0) return Number.NaN
  const low = select(all, (n - 1) >> 1)
  return n % 2 === 1 ? low : (low + leastFrom(all, n >> 1)) / 2
}

/** Robust spread: median absolute deviation scaled to a Gaussian's standard deviation (factor 1.4826). */
export function robustSpread(values: ArrayLike<number>): number {
  const centre = median(values)
  return 1.4826 * median(Float64Array.from(values, (v) => Math.abs(v - centre)))
}

/** The q-quantile (0..1) of the finite values, linear between order statistics; NaN when there are none. */
export function quantile(values: ArrayLike<number>, q: number): number {
  const all = finite(values)
  if (all.length === 0) return Number.NaN
  const at = Math.min(Math.max(q, 0), 1) * (all.length - 1)
  const low = Math.floor(at)
  const value = select(all, low)
  return at === low ? value : value + (leastFrom(all, low + 1) - value) * (at - low)
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
