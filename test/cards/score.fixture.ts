import { type Doubt, type Grouping, pairFiles, segmentBrackets } from '#picture/card'
import type { MessyCard } from './photographer.fixture.ts'

/** Counts over frames; sum them over cards, then take the ratios. */
export interface Score {
  /** Frames in the found bracket that was matched to their true one. */
  readonly right: number
  /** Frames in found brackets. */
  readonly found: number
  /** Frames in true brackets. */
  readonly true: number
  readonly brackets: number
  readonly exact: number
  /** Found brackets with a confidence of 0.9 or more that are not exactly a true one. */
  readonly confidentErrors: readonly string[]
  readonly doubts: number
  /** Doubts about nothing: everything right there, and no question that the truth leaves open. */
  readonly idleDoubts: readonly string[]
  /** True brackets that were missed or cut differently and that no doubt and no low confidence (< 0.9) touches. */
  readonly silentErrors: readonly string[]
}

/**
 * Frame-to-bracket score. Each found bracket is matched to at most one true bracket and the other way round, greatest
 * common number of frames first; a frame is right when its found bracket is matched to its true bracket. Precision =
 * right / frames in found brackets, recall = right / frames in true brackets, F1 their harmonic mean, over all cards.
 */
export function scoreCard(card: MessyCard): Score & { grouping: Grouping } {
  const grouping = segmentBrackets(pairFiles(card.entries).frames)
  const truth = card.brackets.map((b) => new Set(b))
  const found = grouping.brackets.map((b) => b.frames.map((f) => f.file))
  const overlaps = found
    .flatMap((files, f) => truth.map((t, k) => ({ f, k, common: files.filter((file) => t.has(file)).length })))
    .filter((o) => o.common > 0)
    .sort((a, b) => b.common - a.common || a.f - b.f || a.k - b.k)
  const usedFound = new Set<number>()
  const usedTrue = new Set<number>()
  let right = 0
  for (const { f, k, common } of overlaps) {
    if (usedFound.has(f) || usedTrue.has(k)) continue
    usedFound.add(f)
    usedTrue.add(k)
    right += common
  }
  const isExact = (files: readonly string[]) =>
    truth.some((t) => t.size === files.length && files.every((file) => t.has(file)))
  const exactIds = new Set(grouping.brackets.filter((b) => isExact(b.frames.map((f) => f.file))).map((b) => b.id))
  const asked = new Set(grouping.doubts.flatMap((d) => framesOf(d, grouping)))
  for (const b of grouping.brackets) if (b.confidence < 0.9) for (const f of b.frames) asked.add(f.file)
  const foundSets = new Set(found.map((files) => [...files].sort().join()))
  return {
    grouping,
    right,
    found: found.flat().length,
    true: card.brackets.flat().length,
    brackets: truth.length,
    exact: exactIds.size,
    confidentErrors: grouping.brackets
      .filter((b) => b.confidence >= 0.9 && !exactIds.has(b.id))
      .map((b) => `${card.name}: ${b.frames.map((f) => f.file.slice(-8, -4)).join(' ')} at ${b.confidence.toFixed(3)}`),
    doubts: grouping.doubts.length,
    idleDoubts: grouping.doubts
      .filter((d) => d.brackets.every((id) => exactIds.has(id)) && !isOpen(d, grouping, card))
      .map((d) => `${card.name}: ${d.about} ${d.question} (${d.evidence})`),
    silentErrors: card.brackets
      .filter((b) => !foundSets.has([...b].sort().join()) && !b.some((file) => asked.has(file)))
      .map((b) => `${card.name}: ${b.map((f) => f.slice(-8, -4)).join(' ')}`),
  }
}

const framesOf = (doubt: Doubt, { brackets }: Grouping) => [
  ...doubt.frames,
  ...brackets.filter((b) => doubt.brackets.includes(b.id)).flatMap((b) => b.frames.map((f) => f.file)),
]

/** Whether the truth leaves open what the doubt asks: the same kind of question about one of its frames. */
function isOpen(doubt: Doubt, grouping: Grouping, card: MessyCard): boolean {
  const frames = new Set(framesOf(doubt, grouping))
  return card.ambiguities.some((a) => a.kind === doubt.about && a.frames.some((file) => frames.has(file)))
}

export function total(scores: readonly Score[]) {
  const sum = (pick: (s: Score) => number) => scores.reduce((n, s) => n + pick(s), 0)
  const right = sum((s) => s.right)
  const precision = right / sum((s) => s.found)
  const recall = right / sum((s) => s.true)
  return {
    precision,
    recall,
    f1: (2 * precision * recall) / (precision + recall),
    exactShare: sum((s) => s.exact) / sum((s) => s.brackets),
    brackets: sum((s) => s.brackets),
    confidentErrors: scores.flatMap((s) => s.confidentErrors),
    doubts: sum((s) => s.doubts),
    idleDoubts: scores.flatMap((s) => s.idleDoubts),
    silentErrors: scores.flatMap((s) => s.silentErrors),
  }
}
