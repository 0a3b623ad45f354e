import { quantile } from '#core/base'
import type { Residual } from './compare.ts'
import type { FrameLight } from './frame-light.ts'

/**
 * Signs of fog or haze. They are hints: a picture without anything dark in it looks the same as one behind a veil.
 */
export interface Haze {
  /** The light of the darkest 1 % of the picture over that of its middle, 0..1: a clear night has dark places. */
  readonly veilShare: number
  /** The same in stops: how far the darkest places lie below the middle. */
  readonly depthStops: number
  /** The most that one frame's contrast is lower than the others', 0..1: drifting fog; null for a single frame. */
  readonly contrastLoss: number | null
}

/** Haze over a bracket from the light of its cells and from what each frame has beyond the others. Null without enough cells. */
export function hazeOf(frames: readonly FrameLight[], residuals: readonly (Residual | null)[]): Haze | null {
  const first = frames[0]
  if (!first) return null
  const same = frames.filter((f) => f.columns === first.columns && f.rows === first.rows)
  const light = new Float64Array(first.light.length)
  let exposureOfAll = 0
  for (let i = 0; i < light.length; i++) {
    let sum = 0
    let exposure = 0
    for (const f of same) {
      if (!Number.isFinite(f.light[i]!)) continue
      sum += f.light[i]!
      exposure += 2 ** f.exposureStops
    }
    // Clipped in every frame is bright: it stands at the far end.
    light[i] = exposure > 0 ? sum / exposure : Number.POSITIVE_INFINITY
    exposureOfAll = Math.max(exposureOfAll, exposure)
  }
  const known = light.map((v) => (v === Number.POSITIVE_INFINITY ? Number.MAX_VALUE : v))
  if (known.length < 100) return null
  const middle = quantile(known, 0.5)
  const noise = Math.sqrt(Math.max(...same.map((f) => f.noise.offset)) / 256) / Math.max(exposureOfAll, 1e-12)
  // What lies under the noise is dark enough.
  const dark = Math.max(quantile(known, 0.01), noise)
  if (!(middle > dark) || middle === Number.MAX_VALUE)
    return middle === Number.MAX_VALUE || !(middle > 3 * noise)
      ? null
      : { veilShare: 1, depthStops: 0, contrastLoss: null }
  const losses = residuals.flatMap((r) => {
    if (!r) return []
    const veil = Math.max(0, r.veil - 3 * r.veilError)
    return r.level > 0 ? [veil / (r.level + veil)] : []
  })
  return {
    veilShare: dark / middle,
    depthStops: Math.log2(middle / dark),
    contrastLoss: losses.length > 0 ? Math.max(...losses) : null,
  }
}
