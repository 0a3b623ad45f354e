import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { tagText, utf8Bytes, utf8Text } from './text.ts'

describe('UTF-8', () => {
  it('agrees with the platform decoder on any bytes, in fatal mode', () => {
    const platform = new TextDecoder('utf-8', { fatal: true })
    fc.assert(
      fc.property(fc.uint8Array({ maxLength: 40 }), (bytes) => {
        let expected: string | null = null
        try {
          expected = platform.decode(bytes)
        } catch {}
        expect(utf8Text(bytes)).toBe(expected)
      }),
      { numRuns: 3000, seed: 1 },
    )
  })

  it('agrees with the platform on any text, both ways', () => {
    fc.assert(
      fc.property(fc.string({ unit: 'binary', maxLength: 60 }), (text) => {
        const bytes = new TextEncoder().encode(text)
        expect([...utf8Bytes(text)]).toEqual([...bytes])
        expect(utf8Text(bytes)).toBe(new TextDecoder().decode(bytes))
      }),
      { numRuns: 500, seed: 2 },
    )
  })

  it('refuses overlong forms, surrogates and values above U+10FFFF', () => {
    for (const bad of [[0xc0, 0x80], [0xe0, 0x80, 0x80], [0xed, 0xa0, 0x80], [0xf4, 0x90, 0x80, 0x80], [0xc3]])
      expect(utf8Text(Uint8Array.from(bad))).toBeNull()
  })
})

describe('tag text', () => {
  it('ends at the first zero byte and loses the white space around it', () => {
    expect(tagText(Uint8Array.from([32, 65, 66, 32, 0, 67]))).toBe('AB')
    expect(tagText(new Uint8Array(20))).toBe('')
  })

  it('is read as Latin-1 where it is not UTF-8', () => {
    expect(tagText(Uint8Array.from([0x5a, 0xfc, 0x72]))).toBe('Zür')
  })
})
