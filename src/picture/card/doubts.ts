import type { FoundBracket } from './bracket.ts'
import { stops } from './evidence.ts'
import { nameParts } from './frame.ts'
import { pauseSeconds } from './pace.ts'

export type DoubtKind = 'boundary' | 'missing-frame' | 'iso' | 'order' | 'no-exposure' | 'cut-short'

/** A question about the grouping that the photographer can answer and the files cannot. */
export interface Doubt {
  readonly about: DoubtKind
  /** The brackets concerned, by id. */
  readonly brackets: readonly string[]
  /** The frames that the question names: for a boundary, the first behind it. */
  readonly frames: readonly string[]
  readonly question: string
  readonly evidence: string
}

/** A cut, or the lack of one, that the other readings deny with at least this probability is worth a question. */
const WORTH_ASKING = 0.2

export function doubtsOf(found: readonly FoundBracket[]): Doubt[] {
  return [...found.flatMap((f) => [...cutDoubts(f, found), ...inside(f)]), ...shortBrackets(found)]
}

const percent = (p: number) => `${Math.round(100 * p)} %`

function cutDoubts(f: FoundBracket, found: readonly FoundBracket[]): Doubt[] {
  const { segmentation, stream, bracket } = f
  const doubts: Doubt[] = []
  for (let i = f.from + 1; i < f.to; i++) {
    const p = segmentation.cut[i]!
    if (p < WORTH_ASKING) continue
    doubts.push({
      about: 'boundary',
      brackets: [bracket.id],
      frames: [stream[i]!.frame.file],
      question: `Does bracket ${bracket.id} end before ${nameOf(f, i)}?`,
      evidence: `a cut there has a probability of ${percent(p)}`,
    })
  }
  if (f.reading.stalled && doubts.length === 0) doubts.push(stallDoubt(f))
  const joined = 1 - segmentation.cut[f.to]!
  const next = found.find((g) => g.stream === stream && g.from === f.to)
  if (f.to < stream.length && joined >= WORTH_ASKING) {
    const pause = pauseSeconds(stream[f.to - 1]!, stream[f.to]!)
    doubts.push({
      about: 'boundary',
      frames: [stream[f.to]!.frame.file],
      brackets: next ? [bracket.id, next.bracket.id] : [bracket.id],
      question: next
        ? `Do brackets ${bracket.id} and ${next.bracket.id} belong together?`
        : `Does ${nameOf(f, f.to)} belong to bracket ${bracket.id}?`,
      evidence: `probability ${percent(joined)}${pause === null ? '' : `; ${pause.toFixed(0)} s pause between them`}`,
    })
  }
  return doubts
}

function stallDoubt(f: FoundBracket): Doubt {
  const pauses = Array.from({ length: f.to - f.from - 1 }, (_, k) => {
    const at = f.from + k + 1
    return { at, seconds: pauseSeconds(f.stream[at - 1]!, f.stream[at]!) ?? 0 }
  })
  const longest = pauses.reduce((a, b) => (b.seconds > a.seconds ? b : a))
  return {
    about: 'boundary',
    brackets: [f.bracket.id],
    frames: [f.stream[longest.at]!.frame.file],
    question: `Does bracket ${f.bracket.id} end before ${nameOf(f, longest.at)}?`,
    evidence: `a pause of ${longest.seconds.toFixed(0)} s stands before it, and shorter ones between the others`,
  }
}

function inside({ bracket, reading, stream, from, to }: FoundBracket): Doubt[] {
  const doubts: Doubt[] = []
  const { ladder } = reading
  const empty = Math.max(0, ladder.missing - reading.unknown)
  const uncounted = reading.follows?.explained ?? 0
  if (empty > 0 || uncounted > 0)
    doubts.push({
      about: 'missing-frame',
      brackets: [bracket.id],
      frames: [],
      question: `Is a frame of bracket ${bracket.id} missing?`,
      evidence:
        empty > 0
          ? `its exposures step by ${stops(ladder.stepStops)} with ${empty} step${empty === 1 ? '' : 's'} left empty`
          : 'a file number is missing where the brackets here have one more exposure',
    })
  const isos = [...new Set(bracket.frames.flatMap((f) => f.facts.iso ?? []))]
  if (isos.length > 1)
    doubts.push({
      about: 'iso',
      brackets: [bracket.id],
      frames: [],
      question: `Was bracket ${bracket.id} meant to change its ISO?`,
      evidence: `ISO ${isos.join(', ')}: noise differs from frame to frame`,
    })
  const silent = stream.slice(from, to).filter((p) => p.stops === null)
  if (silent.length > 0)
    doubts.push({
      about: 'no-exposure',
      brackets: [bracket.id],
      frames: silent.map((p) => p.frame.file),
      question: `Does ${silent.map((p) => baseOf(p.frame.file)).join(', ')} belong to bracket ${bracket.id}?`,
      evidence: 'it stands among its frames and does not say how it was exposed',
    })
  if (stream.slice(from, to).some((p) => p.seconds === null))
    doubts.push({
      about: 'order',
      brackets: [bracket.id],
      frames: [],
      question: `Are the frames of bracket ${bracket.id} in the right order?`,
      evidence: 'a frame carries no time; file names gave the order',
    })
  return doubts
}

/** A bracket that begins as most on the card do and ends early: cut short, or its last frames lost. */
function shortBrackets(found: readonly FoundBracket[]): Doubt[] {
  return found.flatMap(({ bracket, reading: { begins } }) =>
    begins
      ? [
          {
            about: 'cut-short' as const,
            brackets: [bracket.id],
            frames: [],
            question: `Was bracket ${bracket.id} cut short?`,
            evidence: `${bracket.frames.length} frames, as the first of the ${begins.stops.length} that brackets here have`,
          },
        ]
      : [],
  )
}

const nameOf = ({ stream }: FoundBracket, index: number) => baseOf(stream[index]!.frame.file)

function baseOf(file: string): string {
  const { base, extension } = nameParts(file)
  return extension ? `${base}.${extension}` : base
}
