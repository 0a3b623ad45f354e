import { readdirSync, readFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { cautionCodes } from '#plan/flight'
import {
  hasCautionWords,
  hasReasonWords,
  hasWords,
  sentenceFor,
  sentenceForCaution,
  sentenceForLeftOut,
} from './sentences.ts'
import { hasFlagWords } from './verdict-words.ts'

const source = new URL('../../', import.meta.url).pathname

/** Every failure code that stands beside its kind in the program's text, with the file it is in. */
function codesInSource(): Map<string, string> {
  const found = new Map<string, string>()
  for (const entry of readdirSync(source, { recursive: true, encoding: 'utf8' })) {
    if (!entry.endsWith('.ts') || /\.(test|bench|fixture|kernel)\.ts$/.test(entry)) continue
    const text = readFileSync(join(source, entry), 'utf8')
    const calls = /(?:malformed|unsupported|overLimit)\(\s*'([a-z0-9-]+)'|new Failure\(\s*'[a-z]+',\s*'([a-z0-9-]+)'/g
    for (const call of text.matchAll(calls)) found.set((call[1] ?? call[2])!, entry)
  }
  return found
}

describe('sentences', () => {
  it('exist for every failure code in the program', () => {
    const codes = codesInSource()
    expect(codes.size).toBeGreaterThan(60)
    const without = [...codes].filter(([code]) => !hasWords(code)).map(([code, file]) => `${code} (${file})`)
    expect(without, 'add words for these to src/jobs/contract/sayings.ts').toEqual([])
  })

  it('exist for every reason for which something is left out', () => {
    const reasons = new Set<string>()
    for (const entry of readdirSync(source, { recursive: true, encoding: 'utf8' })) {
      if (!entry.endsWith('.ts') || /\.(test|bench|fixture|kernel)\.ts$/.test(entry)) continue
      const text = readFileSync(join(source, entry), 'utf8')
      const given = /reason: '([a-z0-9-]+)'|leave\([^,()]+, '([a-z0-9-]+)'|notApplied\([^,()]+, '([a-z0-9-]+)'/g
      for (const m of text.matchAll(given)) reasons.add((m[1] ?? m[2] ?? m[3])!)
    }
    expect(reasons.size).toBeGreaterThan(15)
    expect([...reasons].filter((r) => !hasReasonWords(r))).toEqual([])
  })

  it('exist for every flag of a measured frame', () => {
    const text = readFileSync(join(source, 'jobs/check-values.ts'), 'utf8')
    const flags = [...text.matchAll(/\? '([a-z-]+)' : null/g)].map((m) => m[1]!)
    const smear = readFileSync(join(source, 'picture/measure/smear.ts'), 'utf8').match(/type NoSmear = (.+)/)![1]!
    flags.push(...[...smear.matchAll(/'([a-z-]+)'/g)].map((m) => `smear-${m[1]}`))
    expect(flags.length).toBeGreaterThan(9)
    expect(flags.filter((flag) => !hasFlagWords(flag))).toEqual([])
  })

  it('tell of many files by the first, in words', () => {
    const facts = { path: 'card', pictures: 7, first: 'card/1.dng', firstReason: 'empty-file' }
    expect(sentenceFor({ kind: 'malformed', code: 'no-readable-frames', facts })).toMatch(
      /^card: not one of its 7 pictures can be read; of the first, card\/1\.dng: the file is empty; inspect /,
    )
  })

  it('name the file, what is the matter with its facts, and the next step', () => {
    expect(
      sentenceFor({
        kind: 'malformed',
        code: 'file-cut-short',
        facts: { file: 'a.dng', wantedBytes: 24_000_000, fileBytes: 1234 },
      }),
    ).toBe(
      'a.dng: the file is cut short: it has 1234 bytes and its picture needs 24,000,000; copy the file again from the card; if it stays so, leave this frame out.',
    )
    expect(sentenceFor({ kind: 'limit', code: 'out-of-memory', facts: { wantedBytes: 5, leftBytes: 1 } })).toMatch(
      /^The memory .*\.$/,
    )
  })

  it('fall back on the family and the kind, and then show the code', () => {
    expect(sentenceFor({ kind: 'malformed', code: 'jpeg-some-new-fault', facts: {} })).toContain('jpeg-some-new-fault')
    for (const kind of ['malformed', 'unsupported', 'limit', 'io', 'usage'] as const)
      expect(sentenceFor({ kind, code: 'never-heard-of', facts: {} })).toContain('never-heard-of')
  })

  it('tell what was left out and why, once with the file', () => {
    expect(
      sentenceForLeftOut({ what: 'orientation', reason: 'orientation-unknown', facts: { file: 'a.dng', found: 99 } }),
    ).toBe('a.dng, orientation: the orientation 99 does not exist; the picture is taken as upright.')
    expect(sentenceForLeftOut({ what: 'a.dng', reason: 'float-samples', facts: { kind: 'unsupported' } })).toMatch(
      /^a\.dng: its samples are floating-point/,
    )
    expect(sentenceForLeftOut({ what: 'x', reason: 'some-other-reason', facts: {} })).toBe('x: some other reason.')
  })

  it('exist for every caution of a flight, and never call one legal or safe', () => {
    expect(cautionCodes.filter((code) => !hasCautionWords(code))).toEqual([])
    for (const code of cautionCodes) expect(sentenceForCaution(code, {})).not.toMatch(/\b(legal|safe)/i)
    const facts = { viewpoint: 'mill', why: 'reserve-eaten', neededMinutes: 26.1, usableMinutes: 24 }
    expect(sentenceForCaution('cannot-return', facts)).toBe(
      'Mill: no way home on one battery (the way there and home would eat the reserve: 26.1 minutes needed, 24 usable).',
    )
  })
})
