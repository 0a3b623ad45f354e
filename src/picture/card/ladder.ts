/** In which order a bracket's exposures were taken. */
export type LadderOrder = 'rising' | 'falling' | 'middle-first' | 'mixed'

/** One frame's exposure: log2 of t·S/(100·N²), and how far rounding may have moved it. */
export interface Rung {
  readonly stops: number
  readonly slackStops: number
}

/** How well exposures form one even ladder. */
export interface Ladder {
  readonly stepStops: number
  /** Rungs with no frame on them. */
  readonly missing: number
  /** RMS distance from even steps beyond what rounding explains, stops. */
  readonly unevenStops: number
  /** Cost of the missing rungs and the unevenness, natural-log units as in cost.ts. */
  readonly cost: number
  readonly order: LadderOrder
}

/** Nearer than this is the same exposure twice: the smallest bracket step in use is 0.3 stops, tags are rounded by up to 0.07. */
const SAME_EXPOSURE_STOPS = 0.2
const MISSING_COST = 1.5
const MOST_MISSING = 4
/** Usual departure of a true exposure from its even step, stops. */
const UNEVEN_STOPS = 0.09
const UNEVEN_COST_LIMIT = 5

/**
 * How much rounding in the file may have changed an exposure time: files write whole fractions of a second below about
 * a third of a second and tenths above.
 */
export const roundingStops = (seconds: number): number =>
  Math.log2(1 + (seconds < 0.3 ? 0.5 * seconds : 0.05 / seconds))

/** The ladder of two or more exposures in the order of taking; null when two of them are the same exposure. */
export function ladderOf(taken: readonly Rung[]): Ladder | null {
  const rungs = [...taken].sort((a, b) => a.stops - b.stops)
  const gaps = rungs.slice(1).map((r, i) => ({
    stops: r.stops - rungs[i]!.stops,
    slack: Math.hypot(r.slackStops, rungs[i]!.slackStops),
  }))
  if (gaps.some((g) => g.stops < SAME_EXPOSURE_STOPS)) return null
  const span = rungs.at(-1)!.stops - rungs[0]!.stops
  let best: Omit<Ladder, 'order'> | null = null
  for (let missing = 0; missing <= MOST_MISSING; missing++) {
    const stepStops = span / (gaps.length + missing)
    const unevenStops = Math.sqrt(gaps.reduce((sum, g) => sum + beyondSlack(g, stepStops) ** 2, 0) / gaps.length)
    const uneven = Math.min(UNEVEN_COST_LIMIT, rungs.length * 0.5 * (unevenStops / UNEVEN_STOPS) ** 2)
    const cost = uneven + MISSING_COST * missing
    if (!best || cost < best.cost) best = { stepStops, missing, unevenStops, cost }
  }
  return { ...best!, order: orderOf(taken, rungs) }
}

/** How far a gap stands from its nearest whole number of steps (at least one), less what rounding explains. */
function beyondSlack(gap: { stops: number; slack: number }, step: number): number {
  const steps = Math.max(1, Math.round(gap.stops / step))
  return Math.max(0, Math.abs(gap.stops - steps * step) - gap.slack)
}

function orderOf(taken: readonly Rung[], rungs: readonly Rung[]): LadderOrder {
  const rank = taken.map((r) => rungs.indexOf(r))
  if (isRising(rank)) return 'rising'
  if (isFalling(rank)) return 'falling'
  const first = rank[0]!
  // Out from the first frame, each side in its own order, however the sides take turns: 0 − + −− ++, or 0 − −− + ++.
  const outward = isFalling(rank.filter((r) => r < first)) && isRising(rank.filter((r) => r > first))
  // Or the rest from one end to the other: 0 −− − + ++.
  const rest = rank.slice(1)
  return outward || isRising(rest) || isFalling(rest) ? 'middle-first' : 'mixed'
}

const isRising = (values: readonly number[]) => values.every((v, i) => i === 0 || v > values[i - 1]!)
const isFalling = (values: readonly number[]) => values.every((v, i) => i === 0 || v < values[i - 1]!)
