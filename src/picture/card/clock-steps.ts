import { counterStep, nameParts } from './frame.ts'
import type { Placed } from './placed.ts'

/** A moment at which a camera's clock was set, seen in its files. */
export interface ClockStep {
  /** The first frame after it. */
  readonly before: string
  /** How far the clock was moved, seconds; negative: back. */
  readonly seconds: number
  /** By the satellite receiver's times; by frames that follow on by file number; by whole quarters of an hour besides. */
  readonly basis: 'receiver' | 'file-numbers' | 'quarter-hours'
}

/** A sequence by name in which more than this share of steps goes back in time was not named in the order of taking. */
const MOST_BACKWARD_SHARE = 0.15
/** Frames that follow on: a few may have been deleted between. */
const FOLLOWS_WITHIN = 4
/** Zones differ by whole quarters of an hour. */
const QUARTER_SECONDS = 900
/** Where the clock was set by less than this it was put right, not moved to another zone. */
const LEAST_ZONE_STEP_SECONDS = 800
/** After a step by whole quarters of an hour, the longest pause that is believed. */
const LONGEST_PAUSE_SECONDS = 600
/** Receiver and camera clock, read at the start or end of an exposure, agree within this and the exposure. */
const RECEIVER_SECONDS = 4

/**
 * Frames in the order of their names with the camera's clock made steady: where file numbers follow on and the clock goes
 * back, or where it parts from the receiver's, it was set, and later times are moved by as much. The first frame after a
 * step of unknown size has `gapUnknown`.
 */
export function steadyClock(named: readonly Placed[]): { frames: Placed[]; steps: ClockStep[] } {
  const steps: ClockStep[] = []
  const believe = backwardIsRare(named)
  const frames: Placed[] = []
  let moved = 0
  let last: Placed | null = null
  // The last frame whose receiver had moved on: a receiver without a fix repeats an old time. Those since may be either
  // side of a step that only the next fix shows.
  let fresh: Placed | null = null
  let sinceFresh = 0
  for (const placed of named) {
    if (placed.seconds === null) {
      frames.push(placed)
      continue
    }
    const isFresh = hasNewerFix(placed, fresh)
    let step = isFresh && fresh ? receiverStep(fresh, placed) : null
    if (step) {
      const first = moveSince(frames, sinceFresh, step.seconds)
      if (first !== null) step = { ...step, before: frames[first]!.frame.file }
    } else if (last && believe && followsOn(last, placed)) step = backwardStep(last, placed)
    if (step) {
      moved -= step.seconds
      steps.push(step)
    }
    frames.push({ ...placed, seconds: placed.seconds + moved, gapUnknown: step?.basis === 'file-numbers' })
    last = placed
    if (isFresh) {
      fresh = placed
      sinceFresh = frames.length
    }
  }
  return { frames, steps }
}

function hasNewerFix({ frame }: Placed, fresh: Placed | null): boolean {
  const fix = frame.facts.receiverUtc
  return Boolean(fix) && (fresh === null || fix! > fresh.frame.facts.receiverUtc!)
}

/** Moves those of the frames from `start` on that already show the step; returns the first of them. */
function moveSince(frames: Placed[], start: number, stepSeconds: number): number | null {
  let first: number | null = null
  for (let i = Math.max(1, start); i < frames.length; i++) {
    const before = frames[i - 1]!.seconds
    const { seconds } = frames[i]!
    if (before === null || seconds === null) continue
    if (Math.abs(seconds - stepSeconds - before) >= Math.abs(seconds - before)) continue
    first ??= i
    frames[i] = { ...frames[i]!, seconds: seconds - stepSeconds }
  }
  return first
}

function backwardIsRare(named: readonly Placed[]): boolean {
  const timed = named.filter((p) => p.seconds !== null)
  const pairs = timed.slice(1).flatMap((b, i) => (sameSequence(timed[i]!, b) ? [[timed[i]!, b] as const] : []))
  const backward = pairs.filter(([a, b]) => b.seconds! < a.seconds!).length
  return backward <= Math.max(1, MOST_BACKWARD_SHARE * pairs.length)
}

/** Whether one counter numbered both: the same folder, the same letters before the number. */
function sameSequence(a: Placed, b: Placed): boolean {
  const left = nameParts(a.frame.file)
  const right = nameParts(b.frame.file)
  return left.folder === right.folder && left.base.replace(/\d+$/, '') === right.base.replace(/\d+$/, '')
}

function followsOn(a: Placed, b: Placed): boolean {
  const step = counterStep(a.counter, b.counter)
  return step !== null && step >= 1 && step <= FOLLOWS_WITHIN && sameSequence(a, b)
}

function backwardStep(a: Placed, b: Placed): ClockStep | null {
  const apart = b.seconds! - a.seconds!
  if (apart >= 0) return null
  const before = b.frame.file
  if (-apart >= LEAST_ZONE_STEP_SECONDS) {
    const zone = QUARTER_SECONDS * Math.ceil(-apart / QUARTER_SECONDS)
    if (apart + zone <= LONGEST_PAUSE_SECONDS) return { before, seconds: -zone, basis: 'quarter-hours' }
  }
  return { before, seconds: apart, basis: 'file-numbers' }
}

/** Camera clock less receiver time, seconds; null when the file does not give both. */
export function clockAhead({ seconds, frame }: Placed): number | null {
  const receiver = Date.parse(frame.facts.receiverUtc ?? '')
  return seconds === null || Number.isNaN(receiver) ? null : seconds - receiver / 1000
}

function receiverStep(a: Placed, b: Placed): ClockStep | null {
  const from = clockAhead(a)
  const to = clockAhead(b)
  if (from === null || to === null) return null
  const exposure = Math.max(a.frame.facts.exposureSeconds ?? 0, b.frame.facts.exposureSeconds ?? 0)
  if (Math.abs(to - from) <= RECEIVER_SECONDS + exposure) return null
  return { before: b.frame.file, seconds: Math.round(to - from), basis: 'receiver' }
}
