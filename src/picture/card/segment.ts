import { type BracketReading, LARGEST_BRACKET, readBracket, SINGLE_COST } from './cost.ts'
import type { Placed } from './placed.ts'
import { NOTHING_USUAL, type Usual, usualOf } from './usual.ts'

/** A run of a stream: one frame alone, or a bracket with its reading. Frames from…to−1. */
export interface Run {
  readonly from: number
  readonly to: number
  readonly reading: BracketReading | null
  /** Probability of exactly this run, over all readings of the stream, 0..1. */
  readonly probability: number
}

export interface Segmentation {
  readonly runs: readonly Run[]
  /** Probability that a cut lies before frame i, for i = 0…frames; 1 at both ends. */
  readonly cut: readonly number[]
}

/**
 * The likeliest cutting of a stream into singles and brackets, by dynamic programming over the end of each run
 * (Viterbi 1967); probabilities by the forward-backward sums over all cuttings (Baum et al. 1970).
 */
export function segment(stream: readonly Placed[], usual: Usual = NOTHING_USUAL): Segmentation {
  const n = stream.length
  const candidates = readRuns(stream, usual)
  const best = new Float64Array(n + 1).fill(Number.POSITIVE_INFINITY)
  const bestRun: (CandidateRun | null)[] = new Array(n + 1).fill(null)
  // Log sums over all cuttings of the frames before i, and from i on.
  const forward = new Float64Array(n + 1).fill(Number.NEGATIVE_INFINITY)
  const backward = new Float64Array(n + 1).fill(Number.NEGATIVE_INFINITY)
  best[0] = 0
  forward[0] = 0
  for (let i = 0; i < n; i++) {
    for (const run of candidates[i]!) {
      const cost = best[i]! + run.cost
      if (cost < best[run.to]!) {
        best[run.to] = cost
        bestRun[run.to] = run
      }
      forward[run.to] = addLogs(forward[run.to]!, forward[i]! - run.cost)
    }
  }
  backward[n] = 0
  for (let i = n - 1; i >= 0; i--) {
    for (const run of candidates[i]!) backward[i] = addLogs(backward[i]!, backward[run.to]! - run.cost)
  }
  const whole = forward[n]!
  const runs: Run[] = []
  for (let end = n; end > 0; ) {
    const run = bestRun[end]!
    const probability = Math.exp(forward[run.from]! - run.cost + backward[run.to]! - whole)
    runs.push({ from: run.from, to: run.to, reading: run.reading, probability: Math.min(1, probability) })
    end = run.from
  }
  const cut = Array.from({ length: n + 1 }, (_, i) => Math.min(1, Math.exp(forward[i]! + backward[i]! - whole)))
  return { runs: runs.reverse(), cut }
}

interface CandidateRun {
  readonly from: number
  readonly to: number
  readonly cost: number
  readonly reading: BracketReading | null
}

/** A bracket must be at least this likely to count towards what is usual on the card. */
const TEACHES = 0.5

/** The patterns and the pace that a camera's frames show again and again, from a first reading that knows of none. */
export function usualIn(stream: readonly Placed[]): Usual {
  const { runs } = segment(stream)
  const sure = runs.filter((r) => r.reading && !r.reading.byHand && !r.reading.goesOn && r.probability >= TEACHES)
  return usualOf(sure.map((r) => stream.slice(r.from, r.to)))
}

/** Every possible run by its first frame. */
function readRuns(stream: readonly Placed[], usual: Usual): CandidateRun[][] {
  return stream.map((_, from) => {
    const runs: CandidateRun[] = [{ from, to: from + 1, cost: SINGLE_COST, reading: null }]
    for (let to = from + 2; to <= Math.min(stream.length, from + LARGEST_BRACKET); to++) {
      const reading = readBracket(stream, from, to, usual)
      // What forbids a run (the same exposure twice, another size) forbids every longer one.
      if (reading === 'never') break
      if (reading) runs.push({ from, to, cost: reading.cost, reading })
    }
    return runs
  })
}

function addLogs(a: number, b: number): number {
  const high = Math.max(a, b)
  return high === Number.NEGATIVE_INFINITY ? high : high + Math.log(Math.exp(a - high) + Math.exp(b - high))
}
