import { median, robustSpread } from '#core/base'
import { counterStep } from './frame.ts'
import { type Stamp, shutterBetween } from './pace.ts'
import type { Placed } from './placed.ts'

/** An order of exposures that comes again and again on a card: what its photographer set the camera to. */
export interface UsualPattern {
  /** Stops from the first frame, in the order of taking. */
  readonly stops: readonly number[]
  /** How many brackets of the card follow it. */
  readonly count: number
}

/** What the brackets of one camera on one card have in common. */
export interface Usual {
  /** Commonest first. */
  readonly patterns: readonly UsualPattern[]
  /** From the end of one exposure to the start of the next, mean over a bracket; null when not known. */
  readonly gapSeconds: number | null
  readonly stamp: Stamp
}

export const NOTHING_USUAL: Usual = { patterns: [], gapSeconds: null, stamp: null }

/** Exposures of one pattern agree this far; tags are rounded by up to 0.1 stop each. */
const AGREE_STOPS = 0.25
/** Once is chance; and pairs are found by chance more than once, but not of a whole stop and more. */
const LEAST_COUNT = 2
const LEAST_PAIRS = 3
const LEAST_PAIR_STOPS = 0.9

/** What at least two of the given brackets share. */
export function usualOf(brackets: readonly (readonly Placed[])[]): Usual {
  const patterns: { stops: number[]; count: number }[] = []
  for (const frames of brackets) {
    const first = frames[0]!.stops
    if (first === null || frames.some((f) => f.stops === null)) continue
    const stops = frames.map((f) => f.stops! - first)
    if (stops.length === 2 && Math.abs(stops[1]!) < LEAST_PAIR_STOPS) continue
    const known = patterns.find((p) => p.stops.length === stops.length && p.stops.every((s, i) => agree(s, stops[i]!)))
    if (known) known.count++
    else patterns.push({ stops, count: 1 })
  }
  const usual = patterns
    .filter((p) => p.count >= (p.stops.length === 2 ? LEAST_PAIRS : LEAST_COUNT))
    .sort((a, b) => b.count - a.count)
  const followers = brackets.filter((b) => followsUsual(b, usual)?.missing === 0)
  const stamp = stampOf(followers)
  const gaps = followers.flatMap((b) => beyondShutters(b, stamp) ?? [])
  return { patterns: usual, gapSeconds: gaps.length > 0 ? median(gaps) : null, stamp }
}

/** Mean time from the end of one exposure to the start of the next, seconds, at least 0; null without times. */
export function beyondShutters(frames: readonly Placed[], stamp: Stamp): number | null {
  let sum = 0
  for (let i = 1; i < frames.length; i++) {
    const [from, to] = [frames[i - 1]!, frames[i]!]
    // The time that a lost frame took is not known.
    if (to.gapUnknown || (counterStep(from.counter, to.counter) ?? 1) > 1) return null
    if (from.seconds === null || to.seconds === null) return null
    sum += to.seconds - from.seconds - shutterBetween(from, to, stamp)
  }
  return Math.max(0, sum / (frames.length - 1))
}

/** Pairs of exposures that differ less say nothing of when the clock is read. */
const TELLING_SECONDS = 0.3
const TELLING_PAIRS = 4
/** The right guess makes the times between exposures this much more even than the wrong one. */
const EVENER = 2

/** When a camera reads its clock: the guess that makes the times between the exposures of its brackets even. */
function stampOf(brackets: readonly (readonly Placed[])[]): Stamp {
  const spread = (stamp: Stamp) => {
    const between = brackets.flatMap((frames) =>
      frames.slice(1).flatMap((to, i) => {
        const from = frames[i]!
        const differ = shutterBetween(from, to, 'opening') - shutterBetween(from, to, 'closing')
        if (Math.abs(differ) < TELLING_SECONDS || from.seconds === null || to.seconds === null || to.gapUnknown)
          return []
        return [to.seconds - from.seconds - shutterBetween(from, to, stamp)]
      }),
    )
    return between.length < TELLING_PAIRS ? null : robustSpread(between)
  }
  const opening = spread('opening')
  const closing = spread('closing')
  if (opening === null || closing === null) return null
  if (EVENER * opening < closing) return 'opening'
  return EVENER * closing < opening ? 'closing' : null
}

const agree = (a: number, b: number) => Math.abs(a - b) < AGREE_STOPS

/** How frames follow a usual pattern. */
export interface Follows {
  readonly pattern: UsualPattern
  /** Frames of the pattern that are not there. */
  readonly missing: number
  /** Of those, before the last one that is there: lost and not merely not taken. */
  readonly holes: number
  /** Frames that the file counter says are missing just where the pattern does. */
  readonly explained: number
  /** Holes that the file counter does not show. */
  readonly unexplained: number
}

/** The usual pattern that frames follow, whole or with some of it missing; the least missing first. Null when none. */
export function followsUsual(frames: readonly Placed[], patterns: readonly UsualPattern[]): Follows | null {
  let best: Follows | null = null
  for (const pattern of patterns) {
    const missing = pattern.stops.length - frames.length
    if (missing < 0) continue
    for (let start = 0; start <= missing; start++) {
      const places = placesIn(pattern, start, frames)
      if (!places) continue
      const holes = places.at(-1)! + 1 - frames.length
      let explained = 0
      let unexplained = 0
      for (let i = 1; i < frames.length; i++) {
        const skipped = places[i]! - places[i - 1]! - 1
        const counted = counterStep(frames[i - 1]!.counter, frames[i]!.counter)
        if (counted === null) continue
        if (counted === skipped + 1) explained += skipped
        else unexplained += skipped
      }
      if (!best || missing + unexplained < best.missing + best.unexplained)
        best = { pattern, missing, holes, explained, unexplained }
    }
  }
  return best
}

/** A pattern is asked about where it is this many times as common as the shorter one that is there. */
const FAR_COMMONER = 3

/** The usual pattern that frames begin and do not end, where it is far commoner than theirs. */
export function beginsUsual(frames: readonly Placed[], patterns: readonly UsualPattern[]): UsualPattern | null {
  const begun = patterns.filter(
    (p) => p.stops.length > frames.length && placesIn(p, 0, frames)?.at(-1) === frames.length - 1,
  )
  const own = patterns.find((p) => p.stops.length === frames.length && placesIn(p, 0, frames))
  return begun.find((p) => p.count >= FAR_COMMONER * (own?.count ?? 0)) ?? null
}

/** Where in the pattern each frame stands, when the first stands at `start`; a frame of unknown exposure takes the next place. */
function placesIn(pattern: UsualPattern, start: number, frames: readonly Placed[]): number[] | null {
  const base = frames[0]!.stops
  if (base === null) return null
  const places: number[] = []
  let next = start
  for (const frame of frames) {
    const place =
      frame.stops === null
        ? next
        : pattern.stops.findIndex((s, i) => i >= next && agree(s - pattern.stops[start]!, frame.stops! - base))
    if (place < 0 || place >= pattern.stops.length) return null
    places.push(place)
    next = place + 1
  }
  return places
}
