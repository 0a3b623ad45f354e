import { describe, expect, it } from 'vitest'
import { bracketShots, madeCard, type Shot } from './card.fixture.ts'
import type { Frame } from './frame.ts'
import { captureStreams } from './order.ts'
import type { Placed } from './placed.ts'
import { beginsUsual, beyondShutters, followsUsual, usualOf } from './usual.ts'

const placed = (frames: readonly Frame[]) => captureStreams(frames).streams[0]!
const five = [0, -1, 1, -2, 2]
const cut = (stream: readonly Placed[], size: number) =>
  Array.from({ length: stream.length / size }, (_, i) => stream.slice(size * i, size * (i + 1)))
const taken = (shots: readonly Shot[], more = {}) => placed(madeCard(shots, more))
const usual = usualOf(cut(taken([1, 2, 3].flatMap(() => bracketShots(five, 5))), 5))

describe('what is usual on a card', () => {
  it('is a pattern that comes twice, whatever its base; once is chance, and so are pairs of less than a stop', () => {
    const shifted = [0, 1].flatMap((base) =>
      bracketShots(
        five.map((s) => s + base),
        5,
      ),
    )
    expect(usualOf(cut(taken(shifted), 5)).patterns).toMatchObject([{ count: 2 }])
    expect(usualOf(cut(taken(bracketShots(five, 5)), 5)).patterns).toEqual([])
    const pairs = (step: number) => [1, 2, 3, 4].flatMap(() => bracketShots([0, step], 5))
    expect(usualOf(cut(taken(pairs(0.7)), 2)).patterns).toEqual([])
    expect(usualOf(cut(taken(pairs(2)), 2)).patterns).toHaveLength(1)
  })

  it('is followed whole, begun, or with frames lost, which the file numbers explain or not', () => {
    const whole = taken(bracketShots(five, 5))
    expect(followsUsual(whole, usual.patterns)).toMatchObject({ missing: 0, holes: 0 })
    expect(followsUsual(whole.slice(0, 3), usual.patterns)).toMatchObject({ missing: 2, holes: 0 })
    const lost = whole.filter((_, i) => i !== 2)
    expect(followsUsual(lost, usual.patterns)).toMatchObject({ missing: 1, holes: 1, explained: 1, unexplained: 0 })
    const renumbered = taken(
      bracketShots(
        five.filter((_, i) => i !== 2),
        5,
      ),
    )
    expect(followsUsual(renumbered, usual.patterns)).toMatchObject({ holes: 1, explained: 0, unexplained: 1 })
    expect(followsUsual(taken(bracketShots([0, 1.5, 3], 5)), usual.patterns)).toBeNull()
    expect(beginsUsual(whole.slice(0, 3), usual.patterns)?.count).toBe(3)
    expect(beginsUsual(whole, usual.patterns)).toBeNull()
    expect(beginsUsual(whole.slice(1, 4), usual.patterns)).toBeNull()
  })

  it('is the time between exposures, and whether the clock is read when the shutter opens or closes', () => {
    const opening = taken(
      [1, 2].flatMap(() => bracketShots(five, 5)),
      { baseSeconds: 1 },
    )
    const closing = opening.map((p) => ({ ...p, seconds: p.seconds! + p.frame.facts.exposureSeconds! }))
    for (const [stream, stamp] of [
      [opening, 'opening'],
      [closing, 'closing'],
    ] as const) {
      const found = usualOf(cut(stream, 5))
      expect(found.stamp).toBe(stamp)
      expect(Math.abs(found.gapSeconds! - 0.4)).toBeLessThan(0.01)
    }
    expect(beyondShutters(opening.filter((_, i) => i !== 2).slice(0, 4), 'opening')).toBeNull()
  })
})
