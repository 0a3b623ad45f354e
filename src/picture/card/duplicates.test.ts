import { describe, expect, it } from 'vitest'
import { bracketShots, madeCard } from './card.fixture.ts'
import { withoutCopies } from './duplicates.ts'
import type { Frame } from './frame.ts'

const card = madeCard(bracketShots([0, -1, 1], 3))
const whole = madeCard(bracketShots([0, -1, 1], 3), { subSeconds: false })
const named = (frame: Frame, file: string, more: Partial<Frame> = {}): Frame => ({ ...frame, ...more, file })
const kept = (frames: readonly Frame[]) =>
  withoutCopies(frames)
    .frames.map((f) => f.file)
    .sort()

describe('copies of a frame', () => {
  it('in a subfolder or beside it are left out, naming the one that stays', () => {
    const copy = named(card[1]!, 'saved/IMG_0002.DNG')
    const beside = named(card[1]!, 'IMG_0002 (1).DNG')
    expect(kept([copy, beside, ...card])).toEqual(card.map((f) => f.file))
    expect(withoutCopies([copy, ...card]).leftOut).toEqual([
      { what: 'saved/IMG_0002.DNG', reason: 'same-exposure-again', facts: { first: 'IMG_0002.DNG' } },
    ])
  })

  it('take their companions with them', () => {
    const copy = named(card[1]!, 'saved/IMG_0002.DNG', { companion: 'saved/IMG_0002.JPG' })
    expect(withoutCopies([copy, ...card]).leftOut.map((l) => l.what)).toEqual([
      'saved/IMG_0002.DNG',
      'saved/IMG_0002.JPG',
    ])
  })

  it('that are the camera’s JPEG in a folder of its own go, and the raw stays', () => {
    const jpeg = named(card[1]!, 'A.JPG', { source: 'rendered', width: 3992, height: 2992 })
    expect(kept([jpeg, ...card])).toEqual(card.map((f) => f.file))
  })

  it('are not what only shares a second with another name, another exposure, or a time with nothing known', () => {
    expect(kept([named(whole[1]!, 'IMG_0777.DNG'), ...whole])).toHaveLength(4)
    const longer = named(card[1]!, 'b/IMG_0002.DNG', { facts: { ...card[1]!.facts, exposureSeconds: 1 } })
    expect(kept([longer, ...card])).toHaveLength(4)
    const timeless = madeCard(bracketShots([0, -1], 3), { timed: false })
    expect(kept([named(timeless[0]!, 'b/IMG_0001.DNG'), ...timeless])).toHaveLength(3)
  })

  it('of whole-second times are known by their name, a copy’s ending aside', () => {
    for (const name of ['b/IMG_0002.DNG', 'IMG_0002 (2).DNG', 'IMG_0002 - copy.DNG', 'img_0002 copy 3.dng'])
      expect(kept([named(whole[1]!, name), ...whole]), name).toHaveLength(3)
  })
})
