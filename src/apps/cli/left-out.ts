import type { FailureKind, LeftOut } from '#core/base'
import { sentenceFor } from '#jobs/contract'
import { count } from './words.ts'

/** What was left out, one line each; files that are no pictures are only counted. */
export function leftOutText(leftOut: readonly LeftOut[]): string[] {
  const others = leftOut.filter((l) => l.reason === 'not-a-still')
  const rest = leftOut.filter((l) => l.reason !== 'not-a-still')
  const lines = rest.map((l) => `  ${leftOutSentence(l)}`)
  if (others.length > 0) lines.push(`  ${count(others.length, 'other file')} (no still pictures)`)
  return lines.length > 0 ? ['', 'Left out:', ...lines] : []
}

/** A failure that cost one file is said as a failure; other reasons say themselves. */
export function leftOutSentence({ what, reason, facts }: LeftOut): string {
  const { kind, ...rest } = facts
  if (typeof kind === 'string')
    return sentenceFor({ kind: kind as FailureKind, code: reason, facts: { ...rest, file: what } })
  return `${what}: ${reason.replaceAll('-', ' ')}`
}
