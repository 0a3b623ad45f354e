import type { BracketReading } from './cost.ts'
import { counterStep } from './frame.ts'
import type { LadderOrder } from './ladder.ts'
import { turnDegrees } from './pace.ts'
import type { Placed } from './placed.ts'

const orderWords: Record<LadderOrder, string> = {
  rising: 'from the shortest to the longest',
  falling: 'from the longest to the shortest',
  'middle-first': 'the middle one first',
  mixed: 'in no usual order',
}

/** Why these frames are one bracket, in short statements for people; each can be checked against the files. */
export function evidenceFor(frames: readonly Placed[], reading: BracketReading): string[] {
  const { ladder, follows } = reading
  const evidence = [
    `${frames.length - reading.unknown} different exposures, ${stops(ladder.stepStops)} apart, ${orderWords[ladder.order]}`,
    `same size, ${frames[0]!.frame.width} × ${frames[0]!.frame.height}`,
    pauseWords(reading),
  ]
  if (ladder.missing > 0) evidence.push(`${ladder.missing} step${ladder.missing === 1 ? '' : 's'} without a frame`)
  if (reading.unknown > 0) evidence.push(`${reading.unknown} of the frames do not say how they were exposed`)
  if (follows) {
    const { pattern, missing } = follows
    evidence.push(
      missing === 0
        ? `exposures in the order of ${pattern.count} brackets of this card`
        : `exposures in the order of ${pattern.count} brackets of this card, ${missing} of ${pattern.stops.length} not there`,
    )
  }
  if (reading.zoneChanged) evidence.push('the clock moved by whole half hours between its frames')
  const { iso, fNumber } = (frames.find((p) => p.stops !== null) ?? frames[0]!).frame.facts
  const told = frames.filter((p) => p.stops !== null)
  if (iso !== null && told.every((p) => p.frame.facts.iso === iso)) evidence.push(`all at ISO ${iso}`)
  if (fNumber !== null && told.every((p) => p.frame.facts.fNumber === fNumber)) evidence.push(`all at f/${fNumber}`)
  const pairs = frames.slice(1).map((p, i) => [frames[i]!, p] as const)
  const turns = pairs.map(([a, b]) => turnDegrees(a, b))
  if (turns.every((t) => t !== null))
    evidence.push(`camera turned at most ${Math.max(...turns).toFixed(1)}° between frames`)
  const steps = pairs.map(([a, b]) => counterStep(a.counter, b.counter))
  if (steps.every((s) => s === 1)) evidence.push('file numbers follow on')
  else if (steps.some((s) => s !== null && s < 0)) evidence.push('file numbers are not in the order of time')
  return evidence
}

function pauseWords({ longestPauseSeconds: pause, byHand }: BracketReading): string {
  if (pause === null) return 'no times in the files: put in order by file name'
  if (pause === 0) return 'no pause between frames beyond shutter and writing'
  const seconds = pause < 10 ? pause.toFixed(1) : pause.toFixed(0)
  return byHand
    ? `pauses of up to ${seconds} s between frames, as when each exposure is set by hand`
    : `pauses of at most ${seconds} s between frames`
}

export const stops = (value: number) => `${value.toFixed(1)} stop${Math.abs(value - 1) < 0.05 ? '' : 's'}`
