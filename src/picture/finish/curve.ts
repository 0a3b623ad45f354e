/** A rung of the tone ladder: scene stops from the anchor ↔ print zone. */
export interface Rung {
  readonly sceneStops: number
  /** 0 black … 5 mid-grey … 10 paper white; one zone is ten units of CIE L*. */
  readonly zone: number
}

/**
 * The monotone cubic through the rungs (Fritsch, Carlson 1980, "Monotone piecewise cubic interpolation", with the
 * circle of radius 3 as its region); constant outside them. `rungs` ascend strictly in stops; at least two.
 */
export function toneCurve(rungs: readonly Rung[]): (sceneStops: number) => number {
  const x = rungs.map((r) => r.sceneStops)
  const y = rungs.map((r) => r.zone)
  const last = x.length - 1
  const secant = Array.from({ length: last }, (_, i) => (y[i + 1]! - y[i]!) / (x[i + 1]! - x[i]!))
  const slope = x.map((_, i) => {
    if (i === 0) return secant[0]!
    if (i === last) return secant[last - 1]!
    return secant[i - 1]! * secant[i]! <= 0 ? 0 : (secant[i - 1]! + secant[i]!) / 2
  })
  for (let i = 0; i < last; i++) {
    const d = secant[i]!
    if (d === 0) {
      slope[i] = 0
      slope[i + 1] = 0
      continue
    }
    const length = Math.hypot(slope[i]! / d, slope[i + 1]! / d)
    if (length > 3) {
      slope[i]! *= 3 / length
      slope[i + 1]! *= 3 / length
    }
  }
  return (stops) => {
    if (!(stops > x[0]!)) return y[0]!
    if (stops >= x[last]!) return y[last]!
    let i = 0
    while (stops >= x[i + 1]!) i++
    const h = x[i + 1]! - x[i]!
    const t = (stops - x[i]!) / h
    const [t2, t3] = [t * t, t * t * t]
    return (
      y[i]! * (2 * t3 - 3 * t2 + 1) +
      h * slope[i]! * (t3 - 2 * t2 + t) +
      y[i + 1]! * (3 * t2 - 2 * t3) +
      h * slope[i + 1]! * (t3 - t2)
    )
  }
}

/** Stops at which a rising curve reaches a zone, by bisection to 1e-6 stop; clamped to the rungs' ends. */
export function stopsAtZone(rungs: readonly Rung[], zone: number): number {
  const curve = toneCurve(rungs)
  let low = rungs[0]!.sceneStops
  let high = rungs[rungs.length - 1]!.sceneStops
  while (high - low > 1e-6) {
    const mid = (low + high) / 2
    if (curve(mid) < zone) low = mid
    else high = mid
  }
  return (low + high) / 2
}

/** Luminance (white = 1) of a zone: CIE L* = 10 zone (CIE 15:2018, 8.2.1). */
export function luminanceOfZone(zone: number): number {
  const l = 10 * zone
  return l > 8 ? ((l + 16) / 116) ** 3 : (l * 27) / 24389
}

/** Zone of a luminance, the inverse. */
export function zoneOfLuminance(luminance: number): number {
  return luminance > 216 / 24389 ? (116 * Math.cbrt(luminance) - 16) / 10 : (luminance * 24389) / 270
}
