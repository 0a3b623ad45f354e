import { within } from './range.ts'

/** How many frames of one shutter time were taken and kept, from earlier outings. */
export interface Kept {
  readonly shutterSeconds: number
  readonly kept: number
  readonly taken: number
}

export interface KeepOdds {
  /** Chance that one frame is sharp enough, 0 to 1. */
  readonly probability: number
  /** Frames for a 95 % chance of at least one; null when no number would do. */
  readonly repeats: number | null
  readonly basis: 'default' | 'learnt'
  /** Frames that the learnt odds rest on. */
  readonly frames: number
}

/** The best odds claimed without having seen a frame: focus, gusts and the odd knock remain. An assumption. */
export const BEST_DEFAULT = 0.95

/** This many frames near a shutter time, and the odds count as learnt. */
export const LEARNT_FRAMES = 10

/** How many frames the default is worth when it is mixed with what was counted: a prior of so many frames. */
const PRIOR_FRAMES = 4

/**
 * Chance of a sharp frame from the smear expected (root mean square, pixels) and the smear allowed: 1 − exp(−(allowed/expected)²), at most 0.95. It is
 * the chance that a drift with independent, equal Gaussian parts east and north stays below the allowed one (Rayleigh's distribution,
 * closed form). That drift is so, and that smear alone decides, are assumptions: nobody has published keep rates.
 */
export function defaultKeep(expectedSmearPixels: number, allowedSmearPixels = 1): number {
  within('expectedSmearPixels', expectedSmearPixels, 0, 1e6)
  within('allowedSmearPixels', allowedSmearPixels, 1e-6, 1e6)
  if (expectedSmearPixels === 0) return BEST_DEFAULT
  return Math.min(BEST_DEFAULT, -Math.expm1(-((allowedSmearPixels / expectedSmearPixels) ** 2)))
}

/** n = ⌈ln(1 − sure)/ln(1 − p)⌉ frames for the chance `sure` of one keeper: p 0.5 → 5, 0.3 → 9, 0.2 → 14. Null when p is 0. */
export function repeatsFor(probability: number, sure = 0.95): number | null {
  within('probability', probability, 0, 1)
  within('sure', sure, 0, 0.999_999)
  if (probability === 0) return null
  // The last bits of 1 − 0.95 must not cost a frame.
  const tries = Math.log1p(-sure) / Math.log1p(-probability)
  return Math.max(1, Math.ceil(tries - 1e-9))
}

/**
 * The odds at a shutter time: counted frames within half a stop of it, mixed with the default as a prior worth four frames; `learnt` from
 * ten frames on. Fewer frames, or none: the default, and it says so.
 */
export function keepOdds(
  shutterSeconds: number,
  expectedSmearPixels: number,
  history: readonly Kept[] = [],
  allowedSmearPixels = 1,
): KeepOdds {
  within('shutterSeconds', shutterSeconds, 1e-6, 3600)
  const guess = defaultKeep(expectedSmearPixels, allowedSmearPixels)
  let kept = 0
  let taken = 0
  for (const row of history) {
    within('historyShutterSeconds', row.shutterSeconds, 1e-6, 3600)
    within('taken', row.taken, 0, 1e9)
    within('kept', row.kept, 0, row.taken)
    if (Math.abs(Math.log2(row.shutterSeconds / shutterSeconds)) > 0.5) continue
    kept += row.kept
    taken += row.taken
  }
  const learnt = taken >= LEARNT_FRAMES
  const probability = learnt ? (kept + PRIOR_FRAMES * guess) / (taken + PRIOR_FRAMES) : guess
  return { probability, repeats: repeatsFor(probability), basis: learnt ? 'learnt' : 'default', frames: taken }
}
