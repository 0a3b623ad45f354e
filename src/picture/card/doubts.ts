import type { FoundBracket } from './bracket.ts'
import { stops } from './evidence.ts'
import { nameParts } from './frame.ts'
import { pauseSeconds } from './pace.ts'

/** A question about the grouping that the photographer can answer and the files cannot. */
export interface Doubt {
  /** The brackets concerned, by id. */
  readonly brackets: readonly string[]
  readonly question: string
  readonly evidence: string
}

/** A cut, or the lack of one, that the other readings deny with at least this probability is worth a question. */
const WORTH_ASKING = 0.15

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
      brackets: [bracket.id],
      question: `Does bracket ${bracket.id} end before ${nameOf(f, i)}?`,
      evidence: `a cut there has a probability of ${percent(p)}`,
    })
  }
  const joined = 1 - segmentation.cut[f.to]!
  const next = found.find((g) => g.stream === stream && g.from === f.to)
  if (f.to < stream.length && joined >= WORTH_ASKING) {
    const pause = pauseSeconds(stream[f.to - 1]!, stream[f.to]!)
    doubts.push({
      brackets: next ? [bracket.id, next.bracket.id] : [bracket.id],
      question: next
        ? `Do brackets ${bracket.id} and ${next.bracket.id} belong together?`
        : `Does ${nameOf(f, f.to)} belong to bracket ${bracket.id}?`,
      evidence: `probability ${percent(joined)}${pause === null ? '' : `; ${pause.toFixed(0)} s pause between them`}`,
    })
  }
  return doubts
}

function inside({ bracket, reading, stream, from, to }: FoundBracket): Doubt[] {
  const doubts: Doubt[] = []
  const { ladder } = reading
  if (ladder.missing > 0)
    doubts.push({
      brackets: [bracket.id],
      question: `Is a frame of bracket ${bracket.id} missing?`,
      evidence: `its exposures step by ${stops(ladder.stepStops)} with ${ladder.missing} step${ladder.missing === 1 ? '' : 's'} left empty`,
    })
  const isos = [...new Set(bracket.frames.map((f) => f.facts.iso))]
  if (isos.length > 1)
    doubts.push({
      brackets: [bracket.id],
      question: `Was bracket ${bracket.id} meant to change its ISO?`,
      evidence: `ISO ${isos.join(', ')}: noise differs from frame to frame`,
    })
  if (stream.slice(from, to).some((p) => p.seconds === null))
    doubts.push({
      brackets: [bracket.id],
      question: `Are the frames of bracket ${bracket.id} in the right order?`,
      evidence: 'a frame carries no time; file names gave the order',
    })
  return doubts
}

/** A bracket with fewer frames than most on the card, at their step: cut short, or its frames lost. */
function shortBrackets(found: readonly FoundBracket[]): Doubt[] {
  const patterns = new Map<string, FoundBracket[]>()
  for (const f of found) {
    const pattern = `${f.bracket.frames.length} ${f.bracket.stepStops.toFixed(1)}`
    patterns.set(pattern, [...(patterns.get(pattern) ?? []), f])
  }
  const usual = [...patterns.values()].sort((a, b) => b.length - a.length)[0]
  if (!usual || usual.length < 2) return []
  const { frames, stepStops } = usual[0]!.bracket
  return found
    .filter(({ bracket }) => bracket.frames.length < frames.length && Math.abs(bracket.stepStops - stepStops) < 0.2)
    .map(({ bracket }) => ({
      brackets: [bracket.id],
      question: `Was bracket ${bracket.id} cut short?`,
      evidence: `${bracket.frames.length} frames where most brackets here have ${frames.length}`,
    }))
}

function nameOf({ stream }: FoundBracket, index: number): string {
  const { base, extension } = nameParts(stream[index]!.frame.file)
  return extension ? `${base}.${extension}` : base
}
