import type { Facts, FailureData, FailureKind, LeftOut } from '#core/base'
import { cautionSayings, leftOutSayings, type Saying, sayings } from './sayings.ts'

/** Families of codes that a user acts on alike: by the start of the code. */
const families: readonly (readonly [string, Saying])[] = [
  [
    'jpeg-',
    ['its JPEG data is damaged ({code})', 'copy the file again from the card; if it stays so, leave this frame out'],
  ],
  ['exr-', ['the OpenEXR file cannot be read ({code})', 'write it again with merge']],
  [
    'deflate-',
    ['its compressed data is damaged', 'copy the file again from the card; if it stays so, leave this frame out'],
  ],
]

const byKind: Readonly<Record<FailureKind, Saying>> = {
  malformed: ['the file is damaged ({code})', 'copy it again from the card; if it stays so, leave it out'],
  unsupported: [
    'the file is sound, but this kind cannot be read ({code})',
    'see the list of supported files in the README',
  ],
  limit: ['it is larger than this program takes on ({code})', 'use a smaller file, or fewer at a time'],
  io: ['the disk refused ({code})', 'check that the path is right and that the disk can be read and written'],
  usage: ['the command cannot be carried out as given ({code})', 'see --help of the command'],
  aborted: ['stopped before the end', 'what is on disk is whole: run the same command again to go on'],
}

const shown = (value: Facts[string] | undefined): string => {
  if (value === undefined || value === null) return 'unknown'
  if (typeof value === 'object') return value.join(' ')
  if (typeof value === 'number' && value < 0) return `−${shown(-value)}`
  // Whole numbers of bytes and pixels are easier to read in groups.
  return typeof value === 'number' && Number.isInteger(value) && value >= 10_000
    ? value.toLocaleString('en')
    : String(value)
}

const matterOf = (code: string): string | undefined =>
  (sayings[code] ?? families.find(([start]) => code.startsWith(start))?.[1])?.[0]

/** `{firstReason}` is another failure's code, said with the same facts. */
const fill = (text: string, code: string, facts: Facts): string =>
  text.replace(/\{(\w+)\}/g, (_, name: string) => {
    if (name === 'code') return code
    const value = facts[name]
    return name === 'firstReason' && typeof value === 'string'
      ? fill(matterOf(value) ?? value, value, facts)
      : shown(value)
  })

const capital = (text: string) => text.charAt(0).toUpperCase() + text.slice(1)

const sayingOf = (kind: FailureKind, code: string): Saying =>
  sayings[code] ?? families.find(([start]) => code.startsWith(start))?.[1] ?? byKind[kind]

/** Whether a reason for leaving something out has words. */
export const hasReasonWords = (reason: string) => reason in leftOutSayings || hasWords(reason)

/** Whether a code has words of its own or of its family; else only its kind speaks for it. */
export const hasWords = (code: string) => code in sayings || families.some(([start]) => code.startsWith(start))

/**
 * One sentence for people: the file where it is known, what is the matter, and what to do next. Facts come from the
 * failure; a code without words of its own gets those of its family or kind, with the code shown.
 */
export function sentenceFor({ kind, code, facts }: FailureData): string {
  const sentence = sayingOf(kind, code)
    .map((part) => fill(part, code, facts))
    .join('; ')
  const where = facts['file'] ?? facts['path'] ?? null
  return where === null ? `${capital(sentence)}.` : `${shown(where)}: ${sentence}.`
}

/** One sentence on something a job did not use: where, what, why. */
export function sentenceForLeftOut({ what, reason, facts }: LeftOut): string {
  const place = facts['file'] ?? facts['path'] ?? null
  const where = place === null || place === what ? what : `${shown(place)}, ${what}`
  const kind = facts['kind']
  const ofFailure =
    typeof kind === 'string' && kind in byKind ? sayingOf(kind as FailureKind, reason)[0] : matterOf(reason)
  return `${where}: ${fill(leftOutSayings[reason] ?? ofFailure ?? reason.replaceAll('-', ' '), reason, facts)}.`
}

/** Whether a caution has words. */
export const hasCautionWords = (code: string) => code in cautionSayings

/** One sentence for the field card: what to mind. A reason among the facts (`why`) is said in words. */
export function sentenceForCaution(code: string, facts: Facts): string {
  const why = facts['why']
  const said = typeof why === 'string' ? { ...facts, why: fill(leftOutSayings[why] ?? why, why, facts) } : facts
  return `${capital(fill(cautionSayings[code] ?? code.replaceAll('-', ' '), code, said))}.`
}
