import { median } from '#core/base'

/** In which order a bracket's exposures were taken. */
export type LadderOrder = 'rising' | 'falling' | 'middle-first' | 'mixed'

/** How well exposures form one even ladder. */
export interface Ladder {
  /** The usual step, stops. */
  readonly stepStops: number
  /** Rungs with no frame on them. */
  readonly missing: number
  /** RMS distance from even rungs, stops. */
  readonly unevenStops: number
  readonly order: LadderOrder
}

/** Nearer than this is the same exposure twice: the smallest bracket step in use is 0.3 stops, tags are rounded by up to 0.07. */
const SAME_EXPOSURE_STOPS = 0.2

/** The ladder of two or more exposures in the order of taking; null when two of them are the same exposure. */
export function ladderOf(stops: readonly number[]): Ladder | null {
  const rungs = [...stops].sort((a, b) => a - b)
  const gaps = rungs.slice(1).map((s, i) => s - rungs[i]!)
  if (gaps.some((g) => g < SAME_EXPOSURE_STOPS)) return null
  const stepStops = usualStep(gaps)
  let missing = 0
  let squares = 0
  for (const gap of gaps) {
    const steps = Math.max(1, Math.round(gap / stepStops))
    missing += steps - 1
    squares += (gap - steps * stepStops) ** 2
  }
  return { stepStops, missing, unevenStops: Math.sqrt(squares / gaps.length), order: orderOf(stops, rungs) }
}

/** The smallest gap that is not an outlier names the step, refined over the gaps of one step. */
function usualStep(gaps: readonly number[]): number {
  const smallest = Math.min(...gaps)
  return median(gaps.filter((g) => g < 1.5 * smallest))
}

function orderOf(stops: readonly number[], rungs: readonly number[]): LadderOrder {
  const rank = stops.map((s) => rungs.indexOf(s))
  if (rank.every((r, i) => r === i)) return 'rising'
  if (rank.every((r, i) => r === rank.length - 1 - i)) return 'falling'
  const first = rank[0]!
  const below = rank.filter((r) => r < first)
  const above = rank.filter((r) => r > first)
  // Out from the first frame, each side in its own order: 0 − + −− ++, or 0 − −− + ++.
  const outward = below.every((r, i) => r === first - 1 - i) && above.every((r, i) => r === first + 1 + i)
  if (!outward) return 'mixed'
  const sides = rank.slice(1).map((r) => Math.sign(r - first))
  const changes = sides.slice(1).filter((s, i) => s !== sides[i]).length
  return changes === 1 || changes === sides.length - 1 ? 'middle-first' : 'mixed'
}
