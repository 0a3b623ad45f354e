import { Failure } from '#core/base'
import { utf8Bytes } from '#core/formats'

/** What the words of a name pattern stand for; an absent one prints as "unknown". */
export interface NameFacts {
  /** The bracket's number, or the file's own name. */
  readonly bracket: string
  /** "2027-02-09" and "17.31.05", by the camera's clock. */
  readonly date: string | null
  readonly time: string | null
  /** Of the outing. */
  readonly title: string | null
  readonly author: string | null
  /** The longer side, pixels. */
  readonly size: string
}

/** The words that a pattern may hold, in braces. */
export const nameWords = ['bracket', 'date', 'time', 'title', 'author', 'size'] as const

/** File systems allow 255 bytes; room is left for the ending and for the record's. */
const MOST_BYTES = 180
/** Forbidden by one file system or another, or read as folders. */
const forbidden = /[\p{Cc}/\\:*?"<>|]/gu
/** Names of devices under Windows, with or without an ending. */
const device = /^(con|prn|aux|nul|com\d|lpt\d)(\.|$)/i

/** A text as part of a file name: no separators, no control characters. */
const clean = (text: string): string => text.normalize('NFC').replace(forbidden, '-').trim()

/** Cut between characters, never within one. */
function shortened(text: string): string {
  let out = ''
  let bytes = 0
  for (const character of text) {
    bytes += utf8Bytes(character).length
    if (bytes > MOST_BYTES) break
    out += character
  }
  return out
}

/**
 * The name that a pattern makes, without its ending: words in braces are replaced, and what no file system takes becomes "-".
 * @throws usage "name-word" (a word that does not exist, a brace without its partner), "name-empty", "name-folder"
 */
export function nameFrom(pattern: string, facts: NameFacts): string {
  if (/[/\\]/.test(pattern)) throw new Failure('usage', 'name-folder', { found: pattern })
  const filled = pattern.replace(/\{([^{}]*)\}/g, (_, word: string) => {
    const known = nameWords.find((w) => w === word)
    if (!known) throw new Failure('usage', 'name-word', { found: `{${word}}`, known: nameWords.map((w) => `{${w}}`) })
    return facts[known] ?? 'unknown'
  })
  const brace = /[{}]/.exec(pattern.replace(/\{[^{}]*\}/g, ''))
  if (brace) throw new Failure('usage', 'name-word', { found: brace[0], known: nameWords.map((w) => `{${w}}`) })
  // Leading dots hide a file, trailing dots and spaces are dropped by some systems.
  const name = shortened(clean(filled).replace(/^\.+/, '')).replace(/[. ]+$/, '')
  if (name === '') throw new Failure('usage', 'name-empty', { found: pattern })
  return device.test(name) ? `_${name}` : name
}
