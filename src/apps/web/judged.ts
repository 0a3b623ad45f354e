import type { CheckDocument, CheckedFrame, GroupDocument, OutingState } from '#jobs/contract'
import { shutter } from '#jobs/contract'
import { frameName } from './words.ts'

export type Bracket = GroupDocument['brackets'][number]
export type Frame = Bracket['frames'][number]
export type Verdict = CheckDocument['brackets'][number]
export type Doubt = GroupDocument['doubts'][number]

/** A bracket with all that is known of it. */
export interface JudgedBracket {
  readonly bracket: Bracket
  readonly verdict: Verdict | null
  readonly doubts: readonly Doubt[]
  readonly frames: readonly { readonly frame: Frame; readonly measured: CheckedFrame | null }[]
}

const order: Readonly<Record<string, number>> = { 're-fly': 0, doubtful: 1 }

/** Documents name frames by their paths as their job opened them; the end of the path is what they share. */
const endsAlike = (a: string, b: string) => a === b || a.endsWith(`/${b}`) || b.endsWith(`/${a}`)

/** Every bracket, those that want a decision first. */
export function judgedBrackets({ group, check }: Pick<OutingState, 'group' | 'check'>): JudgedBracket[] {
  const measured = check?.frames ?? []
  const byName = new Map(measured.map((m) => [frameName(m.file), m]))
  const judged = (group?.brackets ?? []).map((bracket): JudgedBracket => {
    const frames = bracket.frames.map((frame) => {
      const found = byName.get(frameName(frame.file))
      return { frame, measured: found && endsAlike(found.file, frame.file) ? found : null }
    })
    const verdict = check?.brackets.find((b) => b.id === bracket.id && sameFrames(b.frames, bracket)) ?? null
    const doubts = (group?.doubts ?? []).filter((d) => d.brackets.includes(bracket.id))
    return { bracket, verdict, doubts, frames }
  })
  const rank = ({ verdict, doubts }: JudgedBracket) => order[verdict?.verdict ?? ''] ?? (doubts.length > 0 ? 2 : 3)
  return judged
    .map((j, i) => ({ j, i }))
    .sort((a, b) => rank(a.j) - rank(b.j) || a.i - b.i)
    .map(({ j }) => j)
}

/** A verdict counts only for the frames it was given for. */
const sameFrames = (files: readonly string[], bracket: Bracket) =>
  files.length === bracket.frames.length && bracket.frames.every((f) => files.some((file) => endsAlike(file, f.file)))

/** What a sensor of this class holds between its noise and its saturation (common practice, no source). */
export const ASSUMED_STOPS = 10

/** What each frame holds of the scene: measured, or until then from its shutter time alone. */
export function spansOf({ bracket, verdict, frames }: JudgedBracket) {
  const light = ({ exposureSeconds, iso, fNumber }: Frame) =>
    exposureSeconds === null ? null : Math.log2(exposureSeconds * (iso ?? 100)) - 2 * Math.log2(fNumber ?? 1)
  const reference = frames.find((f) => f.frame.file === bracket.reference)?.frame
  const base = reference ? light(reference) : null
  const measured = frames.some((f) => f.measured?.span)
  return {
    measured,
    drawing: {
      id: bracket.id,
      scene: verdict?.scene ?? null,
      frames: frames.map(({ frame, measured: m }) => {
        const own = light(frame)
        const high = own === null || base === null ? null : base - own
        const assumed = high === null ? null : { lowStops: high - ASSUMED_STOPS, highStops: high }
        return {
          name: frame.file,
          words: `${frameName(frame.file)} ${shutter(frame.exposureSeconds)}`,
          span: m?.span ?? (measured ? null : assumed),
          best: verdict ? endsAlike(verdict.best, frame.file) : frame.file === bracket.reference,
        }
      }),
    },
  }
}

export interface Tally {
  readonly keep: number
  readonly doubtful: number
  readonly refly: number
  readonly unjudged: number
}

export function tallyOf(judged: readonly JudgedBracket[]): Tally {
  const of = (verdict: string) => judged.filter((j) => j.verdict?.verdict === verdict).length
  return {
    keep: of('keep'),
    doubtful: of('doubtful'),
    refly: of('re-fly'),
    unjudged: judged.filter((j) => j.verdict === null).length,
  }
}
