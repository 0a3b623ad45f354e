import { median } from '#core/base'
import { counterStep } from './frame.ts'
import { type Ladder, ladderOf, type Rung, roundingStops } from './ladder.ts'
import type { Placed } from './order.ts'
import { climbMetres, moveMetres, pauseSeconds, turnDegrees } from './pace.ts'

/**
 * How unlikely a reading of the card is, in natural-log units: exp(−cost) is proportional to its probability. The
 * numbers are judgements, not fits; docs/science/card.md says what each stands for and how often they err on made cards.
 */
export const SINGLE_COST = 3
const BRACKET_COST = 2
export const LARGEST_BRACKET = 9
/** A longer unexplained pause inside a bracket means that the photographer set each exposure by hand. */
const BY_HAND_SECONDS = 5
const BY_HAND_COST = 5

export interface BracketReading {
  readonly cost: number
  readonly ladder: Ladder
  readonly longestPauseSeconds: number | null
  readonly byHand: boolean
}

/** Frames from…to−1 of a stream read as one bracket; null when they cannot be one. */
export function readBracket(stream: readonly Placed[], from: number, to: number): BracketReading | null {
  const frames = stream.slice(from, to)
  const rungs: Rung[] = []
  for (const frame of frames) {
    if (frame.stops === null || !sameMode(frames[0]!, frame)) return null
    rungs.push({ stops: frame.stops, slackStops: roundingStops(frame.frame.facts.exposureSeconds!) })
  }
  const ladder = ladderOf(rungs)
  if (!ladder) return null
  let cost = BRACKET_COST + sizeCost(frames.length)
  const pauses: number[] = []
  for (let i = 1; i < frames.length; i++) {
    const pause = pauseSeconds(frames[i - 1]!, frames[i]!)
    if (pause !== null) pauses.push(pause)
    cost += pauseCost(pause) + neighbourCost(frames[i - 1]!, frames[i]!)
  }
  const longest = pauses.length > 0 ? Math.max(...pauses) : null
  // A camera, or a hand, keeps its pace: one long pause among short ones is where two brackets meet.
  if (longest !== null) cost += Math.log2(1 + longest / (1 + median(pauses)))
  const byHand = longest !== null && longest > BY_HAND_SECONDS
  cost += ladderCost(ladder, frames.length, byHand) + settingsCost(frames)
  if (byHand) cost += BY_HAND_COST
  // A bracket stands out by the pauses around it; a cut where the pause is shorter than those inside is suspect.
  cost += cutCost(stream[from - 1], frames[0]!, longest) + cutCost(frames.at(-1)!, stream[to], longest)
  return { cost, ladder, longestPauseSeconds: longest, byHand }
}

/** What cannot change inside a bracket: kind and size of file, lens, and which exposure facts are known. */
function sameMode(a: Placed, b: Placed): boolean {
  const lens = a.frame.facts.focalLengthMillimetres
  const other = b.frame.facts.focalLengthMillimetres
  return (
    a.known === b.known &&
    a.frame.source === b.frame.source &&
    a.frame.width === b.frame.width &&
    a.frame.height === b.frame.height &&
    (lens === null || other === null || Math.abs(lens - other) <= 0.01 * lens)
  )
}

/** Cameras bracket by 3, 5, 7 or 9; even numbers come from hands, a pair is most often chance. */
const sizeCost = (frames: number) => (frames === 2 ? 3.5 : frames % 2 === 0 ? 0.7 : 0)

/** Steep up to ten seconds, where a camera's bracket and the next picture differ; flatter beyond, where hands are at work. */
function pauseCost(pause: number | null): number {
  if (pause === null) return 0.5
  return 0.8 * Math.log2(1 + Math.min(pause, 10) / 2) + 0.4 * Math.log2(Math.max(pause, 10) / 10)
}

/** Half the square of a difference in its usual spread, bounded: one wrong reading must not decide alone. */
const spreadCost = (difference: number | null, usual: number, most: number) =>
  difference === null ? 0 : Math.min(most, 0.5 * (difference / usual) ** 2)

function neighbourCost(a: Placed, b: Placed): number {
  const step = counterStep(a.counter, b.counter)
  const counter = step === null ? 0.2 : Math.min(1.5, 0.2 * Math.log2(Math.max(1, Math.abs(step))))
  return (
    counter +
    spreadCost(turnDegrees(a, b), 0.7, 8) +
    spreadCost(climbMetres(a, b), 0.7, 6) +
    spreadCost(moveMetres(a, b), 2, 6)
  )
}

function ladderCost(ladder: Ladder, frames: number, byHand: boolean): number {
  let cost = ladder.cost
  // Each further frame that falls on the next free rung is very unlikely by chance; empty rungs weaken that.
  if (ladder.unevenStops < 0.1) cost -= 1.5 * Math.max(0, frames - 2 - 2 * ladder.missing)
  if (ladder.order === 'mixed') cost += byHand ? 1.5 : 6
  if (ladder.stepStops > 3.2) cost += 2
  // Small steps far apart are what automatic exposure does from one picture to the next.
  if (ladder.stepStops < 0.5 && byHand) cost += 2
  if (ladder.stepStops * (frames - 1) > 14) cost += 3
  return cost
}

function settingsCost(frames: readonly Placed[]): number {
  const first = frames[0]!.frame.facts
  const differs = (pick: (p: Placed) => number | null) => frames.some((p) => pick(p) !== pick(frames[0]!))
  const aperture = first.fNumber !== null && differs((p) => p.frame.facts.fNumber)
  const iso = first.iso !== null && differs((p) => p.frame.facts.iso)
  return (aperture ? 2 : 0) + (iso ? 1 : 0)
}

function cutCost(before: Placed | undefined, after: Placed | undefined, longestInside: number | null): number {
  if (!before || !after || longestInside === null) return 0
  const pause = pauseSeconds(before, after)
  return pause !== null && pause < longestInside - 1 ? 1.5 : 0
}
