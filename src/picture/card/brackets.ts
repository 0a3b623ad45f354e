import type { Bracket, Finding } from './bracket.ts'
import { type Doubt, doubtsOf } from './doubts.ts'
import { evidenceFor } from './evidence.ts'
import type { Frame } from './frame.ts'
import { captureStreams, type Placed } from './order.ts'
import { segment } from './segment.ts'

export interface Grouping {
  readonly brackets: readonly Bracket[]
  readonly singles: readonly Frame[]
  readonly doubts: readonly Doubt[]
}

/** Every frame lands in exactly one bracket or among the singles; the order of the input does not matter. */
export function segmentBrackets(frames: readonly Frame[]): Grouping {
  const findings: Finding[] = []
  const singles: Placed[] = []
  for (const stream of captureStreams(frames)) {
    const segmentation = segment(stream)
    for (const { from, to, reading, probability } of segmentation.runs) {
      if (reading) findings.push({ stream, segmentation, from, to, reading, probability })
      else singles.push(stream[from]!)
    }
  }
  const found = findings
    .sort((a, b) => inTakingOrder(a.stream[a.from]!, b.stream[b.from]!))
    .map((finding, index) => ({ ...finding, bracket: bracketOf(finding, String(index + 1).padStart(4, '0')) }))
  return {
    brackets: found.map((f) => f.bracket),
    singles: singles.sort(inTakingOrder).map((p) => p.frame),
    doubts: doubtsOf(found),
  }
}

function bracketOf({ stream, from, to, reading, probability }: Finding, id: string): Bracket {
  const placed = stream.slice(from, to)
  const byExposure = [...placed].sort((a, b) => a.stops! - b.stops!)
  return {
    id,
    frames: placed.map((p) => p.frame),
    reference: byExposure[(byExposure.length - 1) >> 1]!.frame,
    stepStops: reading.ladder.stepStops,
    confidence: probability,
    evidence: evidenceFor(placed, reading),
  }
}

/** Streams are in order already and sorting is stable: this only weaves the cameras together. */
const inTakingOrder = (a: Placed, b: Placed) => a.orderSeconds - b.orderSeconds
