import type { LeftOut } from '#core/base'
import type { Bracket, Finding } from './bracket.ts'
import { type Clock, clockOf } from './clock.ts'
import { type Doubt, doubtsOf } from './doubts.ts'
import { withoutCopies } from './duplicates.ts'
import { evidenceFor } from './evidence.ts'
import type { Frame } from './frame.ts'
import { type GivenGroup, piecesAround } from './given.ts'
import { captureStreams } from './order.ts'
import type { Placed } from './placed.ts'
import { segment, usualIn } from './segment.ts'

export interface Grouping {
  readonly brackets: readonly Bracket[]
  readonly singles: readonly Frame[]
  readonly doubts: readonly Doubt[]
  /** What the frames tell of the camera's clock; null when nothing. */
  readonly clock: Clock | null
  /** Copies of frames; reason `same-exposure-again`. */
  readonly leftOut: readonly LeftOut[]
}

/**
 * Every frame lands in exactly one bracket, among the singles, or left out as a copy of another; the order of the input
 * does not matter. `given` are groups that the photographer has settled; they are taken as they are.
 */
export function segmentBrackets(all: readonly Frame[], given: readonly GivenGroup[] = []): Grouping {
  const { frames, leftOut } = withoutCopies(all)
  const { streams, steps } = captureStreams(frames)
  const singles: Placed[] = []
  const findings: Finding[] = []
  const settled: { placed: Placed[]; words: string }[] = []
  for (const stream of streams) {
    const usual = usualIn(stream)
    const { pieces, groups } = piecesAround(stream, given)
    for (const group of groups) {
      if (group.placed.length > 1) settled.push(group)
      else singles.push(...group.placed)
    }
    for (const piece of pieces) {
      const segmentation = segment(piece, usual)
      for (const { from, to, reading, probability } of segmentation.runs) {
        if (reading) findings.push({ stream: piece, segmentation, from, to, reading, probability })
        else singles.push(piece[from]!)
      }
    }
  }
  const brackets: Bracket[] = []
  const found: (Finding & { bracket: Bracket })[] = []
  const inOrder = [
    ...settled.map((group) => ({ first: group.placed[0]!, group, finding: null })),
    ...findings.map((finding) => ({ first: finding.stream[finding.from]!, group: null, finding })),
  ].sort((a, b) => inTakingOrder(a.first, b.first))
  for (const [index, { group, finding }] of inOrder.entries()) {
    const id = String(index + 1).padStart(4, '0')
    if (finding) {
      const bracket = foundBracket(finding, id)
      found.push({ ...finding, bracket })
      brackets.push(bracket)
    } else brackets.push(givenBracket(group.placed, group.words, id))
  }
  return {
    brackets,
    singles: singles.sort(inTakingOrder).map((p) => p.frame),
    doubts: doubtsOf(found),
    clock: clockOf(streams, steps),
    leftOut,
  }
}

/**
 * Steps of automatic exposure come out even now and then, and two brackets of one view may make one ladder: a bracket that
 * rests on its steps alone, or that stalls, is never sure.
 */
const NEVER_SURE = 0.8

function foundBracket({ stream, from, to, reading, probability }: Finding, id: string): Bracket {
  const placed = stream.slice(from, to)
  return {
    id,
    frames: placed.map((p) => p.frame),
    reference: middleOf(placed),
    stepStops: reading.ladder.stepStops,
    confidence: reading.byExposureAlone || reading.stalled ? Math.min(probability, NEVER_SURE) : probability,
    evidence: evidenceFor(placed, reading),
  }
}

/** The photographer has said so: no probability is left to doubt. */
function givenBracket(placed: readonly Placed[], words: string, id: string): Bracket {
  const known = placed.flatMap((p) => p.stops ?? [])
  const span = known.length > 1 ? Math.max(...known) - Math.min(...known) : 0
  return {
    id,
    frames: placed.map((p) => p.frame),
    reference: middleOf(placed),
    stepStops: span / Math.max(1, known.length - 1),
    confidence: 1,
    evidence: [words],
  }
}

/** The frame of the middle exposure, the shorter of two; one that tells none only where none does. */
function middleOf(placed: readonly Placed[]): Frame {
  const known = placed.filter((p) => p.stops !== null).sort((a, b) => a.stops! - b.stops!)
  return (known[(known.length - 1) >> 1] ?? placed[0]!).frame
}

/** Streams are in order already and sorting is stable: this only weaves the cameras together. */
const inTakingOrder = (a: Placed, b: Placed) => a.orderSeconds - b.orderSeconds
