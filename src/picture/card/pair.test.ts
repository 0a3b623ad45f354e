import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { madeCard } from './card.fixture.ts'
import type { CardEntry } from './frame.ts'
import { pairFiles } from './pair.ts'

const [model] = madeCard([{ stops: 0 }])
const picture = (file: string, kind: 'raw' | 'rendered', seconds = 0, exposureSeconds = 0.125): CardEntry => ({
  file,
  kind,
  width: 4032,
  height: 3024,
  facts: {
    ...model!.facts,
    exposureSeconds,
    takenAt: {
      utc: null,
      camera: `2027-02-09T17:40:${String(seconds).padStart(2, '0')}`,
      offsetMinutes: null,
      subSecond: 0,
    },
  },
})
const pairs = (entries: readonly CardEntry[]) => pairFiles(entries).frames.map((f) => [f.file, f.companion])

describe('files into frames', () => {
  it('a raw and the JPEG of its name are one frame, whatever the case of the letters', () => {
    expect(pairs([picture('c/IMG_0001.jpg', 'rendered'), picture('c/IMG_0001.DNG', 'raw')])).toEqual([
      ['c/IMG_0001.DNG', 'c/IMG_0001.jpg'],
    ])
    expect(pairs([picture('c/img_0002.JPG', 'rendered'), picture('c/IMG_0002.dng', 'raw')])).toEqual([
      ['c/IMG_0002.dng', 'c/img_0002.JPG'],
    ])
  })

  it('a JPEG alone is a rendered frame', () => {
    const { frames } = pairFiles([picture('a.jpg', 'rendered')])
    expect([frames[0]!.source, frames[0]!.companion]).toEqual(['rendered', null])
  })

  it('the same name in another folder is another frame', () => {
    expect(pairs([picture('1/A.DNG', 'raw'), picture('2/A.JPG', 'rendered')])).toEqual([
      ['1/A.DNG', null],
      ['2/A.JPG', null],
    ])
  })

  it('a JPEG written up to four seconds after its raw still goes with it; one of another minute does not', () => {
    expect(pairs([picture('A.DNG', 'raw', 10), picture('A.JPG', 'rendered', 14)])).toEqual([['A.DNG', 'A.JPG']])
    expect(pairs([picture('A.DNG', 'raw', 10), picture('A.JPG', 'rendered', 40)])).toHaveLength(2)
  })

  it('a JPEG of another exposure time is another frame, rounding of the tag allowed for', () => {
    expect(pairs([picture('A.DNG', 'raw', 0, 2141 / 1e6), picture('A.JPG', 'rendered', 0, 1 / 467)])).toHaveLength(1)
    expect(pairs([picture('A.DNG', 'raw', 0, 1 / 8), picture('A.JPG', 'rendered', 0, 1 / 4)])).toHaveLength(2)
  })

  it('a second JPEG of one name, and what is no still picture, are left out with the reason', () => {
    const entries: CardEntry[] = [
      picture('A.DNG', 'raw'),
      picture('A.JPG', 'rendered'),
      picture('A.jpeg', 'rendered'),
      { file: 'A.SRT', kind: 'other' },
    ]
    const { frames, leftOut } = pairFiles(entries)
    expect(frames).toHaveLength(1)
    expect(leftOut.map((l) => [l.what, l.reason])).toEqual([
      ['A.SRT', 'not-a-still'],
      ['A.jpeg', 'second-companion'],
    ])
  })

  it('puts every file in exactly one place, and the order of the list does not matter', () => {
    const entry = fc
      .record({
        folder: fc.constantFrom('', 'a/', 'b/'),
        base: fc.constantFrom('X1', 'x1', 'X2', 'y'),
        kind: fc.constantFrom('raw', 'rendered', 'other'),
        second: fc.constantFrom(0, 1, 30),
      })
      .map(({ folder, base, kind, second }): CardEntry => {
        const file = `${folder}${base}.${kind === 'raw' ? 'DNG' : kind === 'rendered' ? 'JPG' : 'TXT'}`
        return kind === 'other' ? { file, kind } : picture(file, kind as 'raw' | 'rendered', second)
      })
    fc.assert(
      fc.property(fc.uniqueArray(entry, { selector: (e) => e.file, maxLength: 20 }), (entries) => {
        const result = pairFiles(entries)
        const placed = [
          ...result.frames.flatMap((f) => (f.companion ? [f.file, f.companion] : [f.file])),
          ...result.leftOut.map((l) => l.what),
        ]
        expect(placed.sort()).toEqual(entries.map((e) => e.file).sort())
        expect(pairFiles([...entries].reverse())).toEqual(result)
      }),
    )
  })
})
