import { describe, expect, it } from 'vitest'
import { segmentBrackets } from './brackets.ts'
import { bracketShots, madeCard } from './card.fixture.ts'

const card = madeCard([1, 2, 3].flatMap(() => bracketShots([0, -1, 1], 5)))
const files = (from: number, to: number) => card.slice(from, to).map((f) => f.file)
const sizes = (groups: Parameters<typeof segmentBrackets>[1]) =>
  segmentBrackets(card, groups).brackets.map((b) => b.frames.length)

describe('groups that the photographer settled', () => {
  it('are taken as they are, with equal exposures and more than nine frames, and no probability', () => {
    const { brackets, doubts } = segmentBrackets(card, [{ files: files(0, 6), words: 'joined by you' }])
    expect(brackets.map((b) => b.frames.length)).toEqual([6, 3])
    expect(brackets[0]).toMatchObject({ id: '0001', confidence: 1, evidence: ['joined by you'] })
    expect(doubts.filter((d) => d.brackets.includes('0001'))).toEqual([])
  })

  it('of one frame are singles, and no bracket reaches over them', () => {
    expect(sizes([{ files: files(4, 5), words: '' }])).toEqual([3, 3])
    expect(segmentBrackets(card, [{ files: files(4, 5), words: '' }]).singles.map((f) => f.file)).toEqual(files(3, 6))
  })

  it('that lie around others leave them to be found', () => {
    expect(sizes([{ files: [...files(0, 3), ...files(6, 9)], words: '' }])).toEqual([6, 3])
  })

  it('pass over frames that are gone', () => {
    expect(sizes([{ files: [...files(0, 2), 'gone.DNG'], words: '' }])).toEqual([2, 3, 3])
  })
})
