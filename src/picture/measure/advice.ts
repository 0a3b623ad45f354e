import type { Facts } from '#core/base'
import { laddered, type RuleId, smearOf, tiltOfBracket } from './rules.ts'
import type { VerdictBracket } from './verdict-types.ts'

/** What to change when flying again, or what to do with what there is: a code for the sentence, and its numbers. */
export interface Advice {
  readonly code: AdviceCode
  readonly facts: Facts
}

export type AdviceCode =
  | 'shorten-all'
  | 'shorten-longest'
  | 'leave-out-longest'
  | 'focus-again'
  | 'add-short-frames'
  | 'add-long-frames'
  | 'repeat-whole-bracket'
  | 'copy-again'
  | 'narrow-step'
  | 'fix-iso'
  | 'hold-position'
  | 'whole-mains-periods'
  | 'turn-picture'
  | 'leave-out-frame'
  | 'wait-for-clear-air'
  | 'check-black'
  | 'measure-by-eye'

/** Whole stops, at least one: what a photographer sets. */
const wholeStops = (stops: number) => Math.max(1, Math.ceil(stops - 0.05))
/** The most that is advised at once: beyond, the numbers say only "much". */
const MOST_STOPS = 6

/**
 * The advice that goes with a rule that was broken (`limit` as it stands in the rule's unit). Smear grows in proportion to
 * the shutter time, so the stops to shorten are log2(smear / limit).
 */
export function adviceFor(rule: RuleId, value: number, limit: number, bracket: VerdictBracket): readonly Advice[] {
  const longest = frameAt(bracket, bracket.levels?.longest)
  switch (rule) {
    case 'smear-of-best': {
      const stops = Math.log2(value / limit)
      return [{ code: 'shorten-all', facts: { stops: round(stops), wholeStops: wholeStops(stops) } }]
    }
    case 'smear-of-longest': {
      const stops = Math.log2(value / limit)
      const seconds = longest?.exposureSeconds ?? null
      const facts = {
        stops: round(stops),
        seconds: seconds === null ? null : round((seconds * limit) / value),
        file: longest?.file ?? null,
      }
      return [
        { code: 'shorten-longest', facts },
        { code: 'leave-out-longest', facts: { file: longest?.file ?? null } },
      ]
    }
    case 'focus-of-best':
      return [{ code: 'focus-again', facts: { pixels: round(value) } }]
    case 'clipped-in-shortest': {
      const stops = Math.min(MOST_STOPS, stopsToUnclip(bracket, value, limit))
      return [{ code: 'add-short-frames', facts: { stops: wholeStops(stops), frames: framesFor(stops, bracket) } }]
    }
    case 'buried-in-longest': {
      const stops = stopsToUnbury(bracket, limit)
      const added = { stops, frames: framesFor(stops, bracket), seconds: null as number | null }
      const smear = longest ? smearOf(longest) : null
      // A longer shutter smears more: where it would, more frames of the same time or a higher ISO are the way.
      const smearThen = smear === null ? null : round(smear * 2 ** stops)
      const seconds = longest?.exposureSeconds ?? null
      if (seconds !== null) added.seconds = round(seconds * 2 ** stops)
      return [{ code: 'add-long-frames', facts: { ...added, smearPixels: smearThen } }]
    }
    case 'frames-missing':
      return [{ code: 'repeat-whole-bracket', facts: { missing: value } }]
    case 'frames-unreadable':
      return [
        { code: 'copy-again', facts: { files: bracket.frames.filter((f) => f.levels === null).map((f) => f.file) } },
      ]
    case 'step-too-wide': {
      const steps = Math.ceil(value / 2)
      return [{ code: 'narrow-step', facts: { stops: round(value), framesBetween: steps - 1 } }]
    }
    case 'iso-differs':
      return [
        {
          code: 'fix-iso',
          facts: { iso: [...new Set(bracket.frames.flatMap((f) => (f.iso === null ? [] : [f.iso])))] },
        },
      ]
    case 'drift':
      return [{ code: 'hold-position', facts: { percent: round(value) } }]
    case 'flicker': {
      const worst = worstOf(bracket.levels?.flicker ?? [], (f) => f.depth)
      const file = bracket.frames[worst]?.file ?? null
      const hertz = bracket.levels?.flicker[worst]?.hertz ?? null
      // Whole periods of the light leave no band: sinc(f·t) = 0. The mains is 50 or 60 Hz, its lamps twice that.
      const near = hertz === null ? [100, 120] : [Math.abs(hertz - 100) < Math.abs(hertz - 120) ? 100 : 120]
      const shutters = near.flatMap((h) => [`1/${h}`, `1/${h / 2}`])
      return [{ code: 'whole-mains-periods', facts: { file, shutters } }]
    }
    case 'tilt': {
      const degrees = tiltOfBracket(bracket)
      return [{ code: 'turn-picture', facts: { clockwiseDegrees: degrees === null ? null : round(degrees) } }]
    }
    case 'own-strobe': {
      const worst = worstOf(bracket.levels?.strobe ?? [], (s) => s.liftStops)
      return [{ code: 'leave-out-frame', facts: { file: bracket.frames[worst]?.file ?? null } }]
    }
    case 'haze':
      return [{ code: 'wait-for-clear-air', facts: { percent: round(value) } }]
    case 'black-off':
      return [{ code: 'check-black', facts: { codes: round(value) } }]
  }
}

const round = (v: number) => Math.round(v * 100) / 100
const frameAt = (b: VerdictBracket, k: number | null | undefined) => (k == null ? null : (b.frames[k] ?? null))

function worstOf<T>(list: readonly (T | null)[], size: (entry: T) => number): number {
  let worst = -1
  list.forEach((entry, k) => {
    if (entry && (worst < 0 || size(entry) > size(list[worst]!))) worst = k
  })
  return worst
}

/** Frames of the bracket's own step that cover the stops. */
function framesFor(stops: number, bracket: VerdictBracket): number {
  const ladder = laddered(bracket)
  const step = bracket.stepStops ?? (ladder.length > 1 ? (ladder.at(-1)! - ladder[0]!) / (ladder.length - 1) : 1)
  return Math.max(1, Math.ceil(stops / Math.max(step, 0.3) - 0.05))
}

/**
 * Stops less light until the clipped share falls to the limit. How fast it falls is read from the two shortest frames: the share of bright
 * light falls by about the same factor a stop. A single frame tells it by how much stands in its top stop.
 */
function stopsToUnclip(bracket: VerdictBracket, value: number, limit: number): number {
  const worst = (k: number) => {
    const c = bracket.frames[k]!.levels!.clipped
    return 100 * Math.max(c.r, c.g, c.b)
  }
  const read = bracket.frames
    .flatMap((f, k) => (f.levels && Number.isFinite(f.exposureStops) ? [k] : []))
    .sort((a, b) => bracket.frames[a]!.exposureStops - bracket.frames[b]!.exposureStops)
  const [first, second] = read
  let perStop = 1
  if (first !== undefined && second !== undefined) {
    const apart = bracket.frames[second]!.exposureStops - bracket.frames[first]!.exposureStops
    if (apart > 0.2) perStop = Math.log2(worst(second) / Math.max(worst(first), 1e-9)) / apart
  } else if (first !== undefined) {
    const { stops } = bracket.frames[first]!.levels!
    const top = 100 * Math.max(stops.r[0]!, stops.g[0]!, stops.b[0]!)
    perStop = Math.log2((value + top) / value)
  }
  // Lamp faces thin out by a factor of 1.15 a stop at the least, or no bracket would ever end.
  return Math.log2(value / limit) / Math.max(perStop, 0.2)
}

/** Stops more light until the buried share falls to the limit, from the shares that the longest frame states. */
function stopsToUnbury(bracket: VerdictBracket, limit: number): number {
  const buried = frameAt(bracket, bracket.levels?.longest)?.levels?.buried ?? []
  const enough = buried.findIndex((share) => 100 * share <= limit)
  return enough > 0 ? enough : Math.max(1, Math.min(MOST_STOPS, buried.length))
}
