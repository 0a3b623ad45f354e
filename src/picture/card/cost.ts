import { median } from '#core/base'
import { counterStep } from './frame.ts'
import { type Ladder, ladderOf, type Rung, roundingStops } from './ladder.ts'
import { climbMetres, moveMetres, pauseAcrossZones, pauseSeconds, type Stamp, turnDegrees } from './pace.ts'
import type { Placed } from './placed.ts'
import {
  beginsUsual,
  beyondShutters,
  type Follows,
  followsUsual,
  NOTHING_USUAL,
  type Usual,
  type UsualPattern,
} from './usual.ts'

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
/** A hand needs this long to set the next exposure. */
const STEADY_HAND_SECONDS = 2
/** A clock set to another zone just then. */
const ZONE_COST = 4
/** A pattern of its own, where the card's brackets share one. */
const UNUSUAL_COST = 0.7
/** At the pace of single pictures, and nothing that tells whether the camera turned between them. */
const UNSEEN_COST = 1.5
/** A camera whose memory is full waits inside a bracket; a photographer waits between two. */
const STALL_SECONDS = 2
const STALL_RATIO = 3
/** A frame that does not say how it was exposed. */
const UNKNOWN_COST = 1

export interface BracketReading {
  readonly cost: number
  readonly ladder: Ladder
  readonly longestPauseSeconds: number | null
  readonly byHand: boolean
  /** Frames whose exposure the files do not tell. */
  readonly unknown: number
  readonly follows: Follows | null
  /** The card's usual pattern that it begins and does not end. */
  readonly begins: UsualPattern | null
  /** The camera's clock was set to another zone inside. */
  readonly zoneChanged: boolean
  /** Its exposures go on before or after it: a series, not a setting of the camera. */
  readonly goesOn: boolean
  /** At the pace of single pictures, in an order of its own, direction unknown: only its even steps speak for it. */
  readonly byExposureAlone: boolean
  /** One of its pauses is far longer than the others: perhaps two brackets meet there. */
  readonly stalled: boolean
}

/**
 * Frames from…to−1 of a stream read as one bracket; null when they cannot be one, "never" when with more frames they
 * cannot either.
 */
export function readBracket(
  stream: readonly Placed[],
  from: number,
  to: number,
  usual: Usual = NOTHING_USUAL,
): BracketReading | null | 'never' {
  const frames = stream.slice(from, to)
  const rungs: Rung[] = []
  for (const frame of frames) {
    if (!sameMode(frames[0]!, frame)) return 'never'
    if (frame.stops === null) continue
    rungs.push({ stops: frame.stops, slackStops: roundingStops(frame.frame.facts.exposureSeconds!) })
  }
  const unknown = frames.length - rungs.length
  if (rungs.length < 2 || (unknown > 0 && rungs.length < 3) || unknown > frames.length / 3) return null
  const told = frames.filter((f) => f.stops !== null)
  if (told.some((f) => f.known !== told[0]!.known)) return 'never'
  const ladder = ladderOf(rungs)
  if (!ladder) return 'never'
  const pace = paceOf(frames, usual.stamp)
  const series = goesOnSides(stream, from, to, ladder, pace.longest, usual.stamp)
  let cost = BRACKET_COST + pace.cost + unknown * UNKNOWN_COST + settingsCost(told) + slownessCost(frames, usual)
  // A clock of whole seconds cannot tell the camera's own pace from that of single pictures.
  const perhapsBrisk = pace.brisk || (frames.length <= 4 && frames.some((f) => f.clockStepSeconds > 0))
  const unseen = perhapsBrisk && frames.every((f, i) => i === 0 || turnDegrees(frames[i - 1]!, f) === null)
  const plain =
    sizeCost(frames.length, ladder) +
    ladderCost(ladder, rungs.length, unknown, pace) +
    (usual.patterns.length > 0 ? UNUSUAL_COST : 0) +
    (unseen ? UNSEEN_COST : 0)
  const like = followsUsual(frames, usual.patterns)
  const asUsual = like ? usualCost(frames.length, like) : Number.POSITIVE_INFINITY
  cost += Math.min(asUsual, plain) + series * (1 + (ladder.stepStops < SMALL_STEP_STOPS ? 3 : 1) * frames.length)
  const follows = like && (asUsual <= plain || like.holes === 0 || like.explained > 0) ? like : null
  // A bracket stands out by the pauses around it; a cut where the pause is shorter than those inside is suspect.
  cost +=
    cutCost(stream[from - 1], frames[0]!, pace.longest, usual.stamp) +
    cutCost(frames.at(-1)!, stream[to], pace.longest, usual.stamp)
  return {
    cost,
    ladder,
    longestPauseSeconds: pace.longest,
    byHand: pace.byHand,
    unknown,
    follows,
    begins: beginsUsual(frames, usual.patterns),
    zoneChanged: pace.zoneChanged,
    goesOn: series > 0,
    stalled: pace.stalled,
    byExposureAlone: unseen && asUsual > plain,
  }
}

interface Pace {
  /** One pause far longer than the others. */
  readonly stalled: boolean
  readonly cost: number
  readonly longest: number | null
  readonly byHand: boolean
  /** Slower than cameras bracket, faster than hands do. */
  readonly brisk: boolean
  readonly zoneChanged: boolean
}

function paceOf(frames: readonly Placed[], stamp: Stamp): Pace {
  const pauses: number[] = []
  let cost = 0
  let zoneChanged = false
  for (let i = 1; i < frames.length; i++) {
    let pause = pauseSeconds(frames[i - 1]!, frames[i]!, stamp)
    if (pause !== null) pause = Math.max(0, pause - lostSeconds(frames[i - 1]!, frames[i]!))
    const acrossZones = pauseAcrossZones(pause)
    if (acrossZones !== null) {
      pause = acrossZones
      cost += ZONE_COST
      zoneChanged = true
    }
    if (pause !== null) pauses.push(pause)
    cost += pauseCost(pause) + neighbourCost(frames[i - 1]!, frames[i]!)
  }
  if (pauses.length === 0) return { cost, longest: null, zoneChanged, byHand: false, brisk: false, stalled: false }
  const longest = Math.max(...pauses)
  const middle = median(pauses)
  const byHand = longest > BY_HAND_SECONDS
  if (byHand) cost += BY_HAND_COST
  // A camera, or a hand, keeps its pace: one long pause among short ones is where two brackets meet.
  const steady = middle > STEADY_HAND_SECONDS ? 1 : 1.8
  const stalled = longest >= STALL_SECONDS && longest > STALL_RATIO * (middle + 0.5)
  cost += steady * Math.log2(1 + longest / (1 + middle))
  return { cost, longest, zoneChanged, byHand, brisk: !byHand && longest >= QUICK_SECONDS, stalled }
}

/** The time of frames that the file counter says were lost between two: each exposed up to four times as long, and written. */
function lostSeconds(a: Placed, b: Placed): number {
  const lost = (counterStep(a.counter, b.counter) ?? 1) - 1
  if (lost < 1 || lost > MOST_LOST) return 0
  const longest = Math.max(a.frame.facts.exposureSeconds ?? 0, b.frame.facts.exposureSeconds ?? 0)
  return lost * (4 * longest + 1)
}

/** What cannot change inside a bracket: kind and size of file, lens. */
function sameMode(a: Placed, b: Placed): boolean {
  const lens = a.frame.facts.focalLengthMillimetres
  const other = b.frame.facts.focalLengthMillimetres
  return (
    a.frame.source === b.frame.source &&
    a.frame.width === b.frame.width &&
    a.frame.height === b.frame.height &&
    (lens === null || other === null || Math.abs(lens - other) <= 0.01 * lens)
  )
}

/** Cameras bracket by 3, 5, 7 or 9; even numbers come from hands, a pair is most often chance, of a third of a stop even more. */
const sizeCost = (frames: number, { stepStops }: Ladder) =>
  frames === 2 ? (stepStops < SMALL_STEP_STOPS ? 5 : 3.5) : frames % 2 === 0 ? 0.7 : 0

/** The card's own pattern is likely where it comes often; with frames missing less so, most where no file number is. */
const usualCost = (frames: number, { pattern, missing, holes, explained, unexplained }: Follows) =>
  -1.5 * (frames - 2) -
  (missing > 0 ? 0 : Math.min(2, Math.log(pattern.count))) +
  (missing === 0 ? 0 : frames === 2 && explained === 0 ? 3 : 1.5) +
  0.5 * holes +
  2 * unexplained

/** Slower, from frame to frame, than this camera's brackets are: half the square over the usual spread, bounded. */
function slownessCost(frames: readonly Placed[], { gapSeconds, stamp }: Usual): number {
  const gap = beyondShutters(frames, stamp)
  if (gap === null || gapSeconds === null || gap <= gapSeconds) return 0
  const clock = Math.max(...frames.map((f) => f.clockStepSeconds)) / (frames.length - 1)
  return Math.min(5, 0.5 * ((gap - gapSeconds) / (0.4 + 0.5 * gapSeconds + clock)) ** 2)
}

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

const MOST_LOST = 3
/** Steps that automatic exposure also takes, from one picture to the next. */
const SMALL_STEP_STOPS = 0.5
/** Pauses of single pictures are longer; those of a camera's bracket seldom are. */
const QUICK_SECONDS = 0.8

function ladderCost(ladder: Ladder, frames: number, unknown: number, { brisk, byHand }: Pace): number {
  // A rung without a frame is explained by a frame without an exposure.
  let cost = ladder.cost - Math.min(ladder.missing, unknown)
  // Each further frame that falls on the next free rung is very unlikely by chance; empty rungs weaken that.
  if (ladder.unevenStops < 0.1) {
    const each = ladder.stepStops < SMALL_STEP_STOPS ? (brisk ? 0 : 0.7) : brisk ? 1.1 : 1.5
    cost -= each * Math.max(0, frames - 2 - 2 * Math.max(0, ladder.missing - unknown))
  }
  if (ladder.order === 'mixed') cost += byHand ? 1.5 : 6
  if (ladder.stepStops > 3.2) cost += 2
  // Small steps far apart are what automatic exposure does from one picture to the next.
  if (ladder.stepStops < SMALL_STEP_STOPS && byHand) cost += 2
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

function cutCost(
  before: Placed | undefined,
  after: Placed | undefined,
  longestInside: number | null,
  stamp: Stamp,
): number {
  if (!before || !after || longestInside === null) return 0
  const pause = pauseSeconds(before, after, stamp)
  return pause !== null && pause < longestInside - 1 ? 1.5 : 0
}

/** A rising or falling ladder that goes on outside, at one pace, is a series whose exposure follows the light: on how many sides. */
function goesOnSides(
  stream: readonly Placed[],
  from: number,
  to: number,
  ladder: Ladder,
  longestInside: number | null,
  stamp: Stamp,
): number {
  if (ladder.order !== 'rising' && ladder.order !== 'falling') return 0
  const step = ladder.order === 'rising' ? ladder.stepStops : -ladder.stepStops
  const goesOn = (a: Placed | undefined, b: Placed | undefined) => {
    if (!a || !b || a.stops === null || b.stops === null || !sameMode(a, b)) return false
    const pause = pauseSeconds(a, b, stamp)
    // Cameras seldom bracket by thirds; automatic exposure moves by them whatever the pause.
    const paced = pause === null || longestInside === null || pause <= 1.5 * longestInside + 0.7 + b.clockStepSeconds
    if (!paced && ladder.stepStops >= SMALL_STEP_STOPS) return false
    const apart = (b.stops - a.stops) / step
    return apart > 0.5 && apart < 1.5 && (turnDegrees(a, b) ?? 0) < 3
  }
  return Number(goesOn(stream[from - 1], stream[from])) + Number(goesOn(stream[to - 1], stream[to]))
}
