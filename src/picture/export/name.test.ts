import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { nameFrom } from './name.ts'

const facts = {
  bracket: '0007',
  date: '2027-02-09',
  time: '17.31.05',
  title: 'Weir: at dusk / north',
  author: 'Åsa Ö',
  size: '2048',
}
const thrown = (pattern: string) => {
  try {
    return nameFrom(pattern, facts)
  } catch (error) {
    return (error as { code: string }).code
  }
}

describe('the name of a print', () => {
  it('is the pattern with its words filled in, and what no file system takes replaced', () => {
    expect(nameFrom('{bracket}', facts)).toBe('0007')
    expect(nameFrom('{date} {title}, {size}', facts)).toBe('2027-02-09 Weir- at dusk - north, 2048')
    expect(nameFrom('{time} {author}', facts)).toBe('17.31.05 Åsa Ö')
    expect(nameFrom('{date}', { ...facts, date: null })).toBe('unknown')
    expect(nameFrom('..night. ', facts)).toBe('night')
    expect(nameFrom('con', facts)).toBe('_con')
  })

  it('that means nothing, is nothing, or is a path, is refused by name', () => {
    expect(thrown('{place}')).toBe('name-word')
    expect(thrown('a{b')).toBe('name-word')
    expect(thrown('a}')).toBe('name-word')
    expect(thrown('  ')).toBe('name-empty')
    expect(thrown('...')).toBe('name-empty')
    expect(thrown('../x')).toBe('name-folder')
    expect(thrown('a\\b')).toBe('name-folder')
  })

  it('whatever the words hold, is one name that every file system takes, of 180 bytes at most', () => {
    fc.assert(
      fc.property(fc.string({ unit: 'grapheme', maxLength: 300 }), (title) => {
        const name = nameFrom('x{title}', { ...facts, title })
        expect(Buffer.byteLength(name)).toBeLessThanOrEqual(181)
        expect(name).not.toMatch(/[\p{Cc}/\\:*?"<>|]|^\.|[. ]$/u)
        expect(name).not.toBe('')
      }),
    )
  })
})
