import { describe, expect, it } from 'vitest'
import { segmentBrackets } from './brackets.ts'
import { bracketShots, madeCard } from './card.fixture.ts'
import type { Frame } from './frame.ts'

/** A card whose receiver's time is the camera's less `aheadSeconds`; every fix may be some seconds old. */
function card(
  aheadSeconds: number,
  { zone = null, age = () => 0 }: { zone?: number | null; age?: (i: number) => number } = {},
) {
  const frames = madeCard([1, 2, 3].flatMap(() => bracketShots([0, -1, 1], 20)))
  return frames.map((frame, i): Frame => {
    const camera = Date.parse(`${frame.facts.takenAt.camera}Z`) / 1000
    const receiver = new Date((camera - aheadSeconds - age(i)) * 1000).toISOString().slice(0, 19)
    return {
      ...frame,
      facts: { ...frame.facts, receiverUtc: `${receiver}Z`, takenAt: { ...frame.facts.takenAt, offsetMinutes: zone } },
    }
  })
}
const clockOf = (frames: readonly Frame[]) => segmentBrackets(frames).clock

describe('the camera’s clock against the receiver’s', () => {
  it('is wrong by a constant: the offset is proposed to the second, either way, whatever the zone', () => {
    let worst = 0
    for (const zone of [-480, 0, 60, 330, 345, 720])
      for (const wrong of [-1700, -437, -20, 20, 437, 1700]) {
        const clock = clockOf(card(zone * 60 + wrong, { zone }))!
        expect(clock.frames).toBe(9)
        worst = Math.max(worst, Math.abs(clock.offsetSeconds! + wrong))
      }
    console.log(`offset of the clock: worst error ${worst} s`)
    expect(worst).toBeLessThanOrEqual(1)
  })

  it('goes right: no offset, and the zone is named', () => {
    expect(clockOf(card(3600))).toMatchObject({ offsetSeconds: 0, zoneMinutes: 60 })
    expect(clockOf(card(19800 + 1))).toMatchObject({ offsetSeconds: 0, zoneMinutes: 330 })
  })

  it('without a stated zone takes the nearest whole hour, and says which', () => {
    const clock = clockOf(card(3600 - 437))!
    expect(clock).toMatchObject({ offsetSeconds: 437, zoneMinutes: 60 })
    expect(clock.basis).toContain('UTC+01:00')
  })

  it('fast by nearly a quarter of an hour is not taken for a zone that there is nowhere', () => {
    expect(clockOf(card(3600 + 840, { zone: 75 }))).toMatchObject({ offsetSeconds: -840, zoneMinutes: 60 })
  })

  it('proposes nothing where the two do not keep one distance, or where there is no receiver', () => {
    const clock = clockOf(card(3600, { age: (i) => (i % 3) * 7 }))
    expect(clock?.offsetSeconds ?? null).toBeNull()
    expect(clockOf(madeCard(bracketShots([0, -1, 1], 5)))).toBeNull()
  })

  it('is named where it was set on the way: by the receiver, by file numbers, by whole quarters of an hour', () => {
    const shifted = (frames: readonly Frame[], seconds: number) =>
      frames.map((frame, i): Frame => {
        if (i < 6) return frame
        const camera = Date.parse(`${frame.facts.takenAt.camera}Z`) + 1000 * seconds
        return {
          ...frame,
          facts: {
            ...frame.facts,
            takenAt: { ...frame.facts.takenAt, camera: new Date(camera).toISOString().slice(0, 19) },
          },
        }
      })
    const plain = madeCard([1, 2, 3].flatMap(() => bracketShots([0, -1, 1], 20)))
    const cases = [
      [shifted(card(3600), 3600), 'receiver', 3600],
      [shifted(card(3600), -437), 'receiver', -437],
      [shifted(plain, -3600), 'quarter-hours', -3600],
      [shifted(plain, -437), 'file-numbers', null],
    ] as const
    for (const [frames, basis, seconds] of cases) {
      const { clock, brackets } = segmentBrackets(frames)
      expect(clock!.steps.map((s) => [s.before, s.basis])).toEqual([['IMG_0007.DNG', basis]])
      if (seconds !== null) expect(Math.abs(clock!.steps[0]!.seconds - seconds)).toBeLessThanOrEqual(1)
      expect(brackets.map((b) => b.frames.map((f) => f.file).join())).toEqual(
        [0, 3, 6].map((at) =>
          plain
            .slice(at, at + 3)
            .map((f) => f.file)
            .join(),
        ),
      )
    }
  })
})
