import type { LeftOut } from '#core/base'
import { sentenceForLeftOut } from '#jobs/contract'
import { count } from './words.ts'

/** What was left out, one line each; files that are no pictures are only counted. */
export function leftOutText(leftOut: readonly LeftOut[]): string[] {
  const others = leftOut.filter((l) => l.reason === 'not-a-still')
  const rest = leftOut.filter((l) => l.reason !== 'not-a-still')
  const lines = rest.map((l) => `  ${sentenceForLeftOut(l)}`)
  if (others.length > 0) lines.push(`  ${count(others.length, 'other file')} (no still pictures)`)
  return lines.length > 0 ? ['', 'Left out:', ...lines] : []
}
