import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { seededRandom } from '#core/base'
import { segmentBrackets } from './brackets.ts'
import { bracketShots, madeCard, type Shot } from './card.fixture.ts'
import type { Frame } from './frame.ts'

const five = [0, -0.7, 0.7, -1.3, 1.3]
const seven = [0, -0.7, 0.7, -1.3, 1.3, -2, 2]
const sizes = (frames: readonly Frame[]) => segmentBrackets(frames).brackets.map((b) => b.frames.length)
const names = (frames: readonly Frame[]) => frames.map((f) => f.file)

describe('brackets on made cards', () => {
  it('of five frames back to back, the middle one first, are told apart and hold the middle exposure as reference', () => {
    const card = madeCard([1, 2, 3, 4].flatMap(() => bracketShots(five, 1.5)))
    const { brackets, singles, doubts } = segmentBrackets(card)
    expect(brackets.map((b) => b.frames.length)).toEqual([5, 5, 5, 5])
    expect(brackets.map((b) => b.id)).toEqual(['0001', '0002', '0003', '0004'])
    expect(names(brackets[2]!.frames)).toEqual(names(card.slice(10, 15)))
    expect(brackets.every((b) => b.reference === b.frames[0])).toBe(true)
    expect(Math.min(...brackets.map((b) => b.confidence))).toBeGreaterThan(0.9)
    expect([singles, doubts]).toEqual([[], []])
  })

  it('of seven frames in falling order, with whole-second clocks, are told apart', () => {
    const order = [3, 2, 1, 0, -1, -2, -3]
    expect(
      sizes(
        madeCard(
          [1, 2, 3].flatMap(() => bracketShots(order, 2)),
          { subSeconds: false },
        ),
      ),
    ).toEqual([7, 7, 7])
  })

  it('of three, five and seven frames, and of nine, follow each other without pause', () => {
    const nine = [...seven, -2.7, 2.7]
    const shots = [[-1, 0, 1], five, nine, seven, [0, -1, 1]].flatMap((order) => bracketShots(order, 1))
    expect(sizes(madeCard(shots))).toEqual([3, 5, 9, 7, 3])
  })

  it('with shutter times of many seconds keep together: the shutter explains the gap', () => {
    const card = madeCard(
      [1, 2].flatMap(() => bracketShots([0, -1, 1, -2, 2], 2)),
      { baseSeconds: 4 },
    )
    expect(sizes(card)).toEqual([5, 5])
  })

  it('cut short and begun again become a short one with a question and a full one', () => {
    const shots = [
      ...bracketShots(five, 5),
      ...bracketShots(five.slice(0, 3), 5),
      ...bracketShots(five, 4),
      ...bracketShots(five, 5),
    ]
    const { brackets, doubts } = segmentBrackets(madeCard(shots))
    expect(brackets.map((b) => b.frames.length)).toEqual([5, 3, 5, 5])
    expect(doubts.filter((d) => d.question.includes('cut short')).map((d) => d.brackets)).toEqual([['0002']])
  })

  it('with one frame lost keep together and ask for it', () => {
    const card = madeCard([1, 2, 3].flatMap(() => bracketShots(seven, 4))).filter((_, i) => i !== 9)
    const { brackets, doubts } = segmentBrackets(card)
    expect(brackets.map((b) => b.frames.length)).toEqual([7, 6, 7])
    expect(doubts.some((d) => d.question.includes('missing') && d.brackets[0] === '0002')).toBe(true)
  })

  it('stand apart from single frames before, between and after them', () => {
    const single = (stops: number): Shot => ({ stops, pause: 6 })
    const shots = [
      single(0),
      ...bracketShots(five, 8),
      single(-0.3),
      single(-0.3),
      ...bracketShots(five, 8),
      single(0.3),
    ]
    const card = madeCard(shots)
    const { brackets, singles } = segmentBrackets(card)
    expect(brackets.map((b) => b.frames.length)).toEqual([5, 5])
    expect(names(singles)).toEqual(names([card[0]!, card[6]!, card[7]!, card[13]!]))
  })

  it('never mix two picture sizes', () => {
    const large = { width: 8064, height: 6048 }
    const shots = [...bracketShots([-1, 0], 4), ...bracketShots([1], 0.4, large), ...bracketShots([-1, 0, 1], 4, large)]
    const { brackets } = segmentBrackets(madeCard(shots))
    for (const b of brackets) expect(new Set(b.frames.map((f) => f.width)).size).toBe(1)
    expect(brackets.at(-1)!.frames.length).toBe(3)
  })

  it('go over the rollover of the file counter, with times and without', () => {
    for (const timed of [true, false]) {
      const card = madeCard(
        [1, 2].flatMap(() => bracketShots(five, 3)),
        { firstCounter: 9997, timed },
      )
      const { brackets } = segmentBrackets(card)
      expect(brackets.map((b) => names(b.frames))).toEqual([names(card.slice(0, 5)), names(card.slice(5))])
    }
  })

  it('without any times are found by exposure and file number, and say so', () => {
    const card = madeCard(
      [1, 2, 3].flatMap(() => bracketShots(five, 3)),
      { timed: false, attitude: false },
    )
    const { brackets, doubts } = segmentBrackets(card)
    expect(brackets.map((b) => b.frames.length)).toEqual([5, 5, 5])
    expect(brackets[0]!.evidence.some((e) => e.includes('no times'))).toBe(true)
    expect(doubts.some((d) => d.question.includes('right order'))).toBe(true)
  })

  it('are not made of a burst at one exposure', () => {
    const { brackets, singles } = segmentBrackets(
      madeCard(Array.from({ length: 12 }, () => ({ stops: 0, pause: 0.3 }))),
    )
    expect([brackets.length, singles.length]).toEqual([0, 12])
  })

  it('are not made of pictures of a flight whose automatic exposure wanders', () => {
    const random = seededRandom(11)
    const shots = Array.from({ length: 60 }, () => ({
      stops: Math.round(random.normal() * 2) / 3,
      pause: 8 + 20 * random.uniform(),
      yaw: 360 * random.uniform(),
    }))
    expect(segmentBrackets(madeCard(shots)).brackets).toEqual([])
  })

  it('are seldom claimed with confidence among such pictures when the files say nothing of direction', () => {
    const random = seededRandom(12)
    const shots = Array.from({ length: 400 }, () => ({
      stops: Math.round(random.normal() * 4) / 3,
      pause: 8 + 40 * random.uniform(),
    }))
    const claimed = segmentBrackets(madeCard(shots, { attitude: false })).brackets.filter((b) => b.confidence > 0.7)
    const frames = claimed.reduce((n, b) => n + b.frames.length, 0)
    console.log(`single pictures claimed as brackets with confidence: ${frames} of 400`)
    expect(frames).toBeLessThan(40)
  })

  it('whose ISO changes keep together and ask about it', () => {
    const shots = bracketShots([0, -1, 1], 3).map((s, i) => ({ ...s, iso: i === 2 ? 200 : 100 }))
    const { brackets, doubts } = segmentBrackets(madeCard(shots))
    expect(brackets.map((b) => b.frames.length)).toEqual([3])
    expect(doubts.some((d) => d.evidence.includes('ISO 100, 200'))).toBe(true)
  })

  it('of two compositions are cut where the camera turned, though the exposures would fit one ladder', () => {
    const shots = [...bracketShots([0, -1, 1], 1, { yaw: 10 }), ...bracketShots([3, 2, 4], 1, { yaw: 40 })]
    expect(sizes(madeCard(shots))).toEqual([3, 3])
  })

  it('set by hand over minutes, out of file order, are one bracket of lower confidence', () => {
    // The times and exposures of a real night series of eight, named against the order of time.
    const series: [name: string, time: string, seconds: number][] = [
      ['04', '2020-12-28T00:02:02', 2],
      ['05', '2020-12-27T23:58:40', 1],
      ['06', '2020-12-28T00:01:45', 1 / 2],
      ['07', '2020-12-27T23:59:14', 1 / 4],
      ['08', '2020-12-28T00:01:27', 1 / 8],
      ['09', '2020-12-28T00:00:06', 1 / 15],
      ['10', '2020-12-28T00:01:00', 1 / 30],
      ['11', '2020-12-28T00:00:43', 1 / 60],
    ]
    const [model] = madeCard([{ stops: 0 }], { attitude: false })
    const card = series.map(
      ([name, camera, exposureSeconds]): Frame => ({
        ...model!,
        file: `${name}.jpg`,
        source: 'rendered',
        facts: {
          ...model!.facts,
          exposureSeconds,
          takenAt: { utc: null, camera, offsetMinutes: null, subSecond: 0.05 },
        },
      }),
    )
    const { brackets, singles } = segmentBrackets(card)
    expect(brackets.map((b) => names(b.frames))).toEqual([
      ['05.jpg', '07.jpg', '09.jpg', '11.jpg', '10.jpg', '08.jpg', '06.jpg', '04.jpg'],
    ])
    expect(singles).toEqual([])
    const automatic = segmentBrackets(madeCard(bracketShots([0, -1, 1, -2, 2, -3, 3], 2))).brackets[0]!
    console.log(`by hand ${brackets[0]!.confidence.toFixed(3)}, automatic ${automatic.confidence.toFixed(3)}`)
    expect(brackets[0]!.confidence).toBeLessThan(automatic.confidence)
  })
})

describe('any card at all', () => {
  const shot = fc.record({
    stops: fc.integer({ min: -9, max: 9 }).map((n) => n / 3),
    pause: fc.oneof(fc.constant(0.4), fc.double({ min: 0, max: 60, noNaN: true })),
    iso: fc.constantFrom(100, 100, 100, 200),
    yaw: fc.constantFrom(0, 0, 0, 30),
  })
  const cards = fc
    .tuple(fc.array(shot, { maxLength: 30 }), fc.boolean(), fc.integer({ min: 9980, max: 10010 }))
    .map(([shots, timed, firstCounter]) => madeCard(shots, { timed, firstCounter }))

  it('has every frame in exactly one bracket or among the singles, whatever the order of the input', () => {
    fc.assert(
      fc.property(cards, fc.infiniteStream(fc.nat()), (card, keys) => {
        const grouping = segmentBrackets(card)
        const placed = [...grouping.brackets.flatMap((b) => b.frames), ...grouping.singles]
        expect(names(placed).sort()).toEqual(names(card).sort())
        for (const b of grouping.brackets) {
          expect(b.confidence).toBeGreaterThanOrEqual(0)
          expect(b.confidence).toBeLessThanOrEqual(1)
          expect(b.frames).toContain(b.reference)
        }
        const shuffled = card
          .map((frame) => ({ frame, key: keys.next().value! }))
          .sort((a, b) => a.key - b.key)
          .map((k) => k.frame)
        expect(segmentBrackets(shuffled)).toEqual(grouping)
      }),
      { numRuns: 200 },
    )
  })

  it('of usual brackets and singles at usual pauses is grouped right for at least 97 brackets in 100', () => {
    const random = seededRandom(5)
    const pick = <T>(list: readonly T[]) => list[Math.floor(random.uniform() * list.length)]!
    let right = 0
    let all = 0
    for (let round = 0; round < 60; round++) {
      const runs: Shot[][] = []
      const order = pick([five, seven, [0, -1, 1], [-1, 0, 1], [-2, -1, 0, 1, 2], [0, -2, 2, -4, 4]])
      let yaw = 0
      for (let i = 0; i < 12; i++) {
        if (random.uniform() < 0.5) yaw = 360 * random.uniform()
        const base = Math.round(random.normal() * 3) / 3
        const pause = 2 + 15 * random.uniform()
        if (random.uniform() < 0.3) runs.push([{ stops: base, pause, yaw }])
        else
          runs.push(
            order.map((s, k) => ({
              stops: base + s,
              pause: k ? 0.3 + random.uniform() : pause,
              yaw: yaw + 0.1 * random.normal(),
            })),
          )
      }
      const card = madeCard(runs.flat(), {
        subSeconds: random.uniform() < 0.5,
        baseSeconds: 2 ** (-6 + 6 * random.uniform()),
      })
      const found = new Set(segmentBrackets(card).brackets.map((b) => names(b.frames).join()))
      let at = 0
      for (const run of runs) {
        if (run.length > 1) {
          all++
          if (found.has(names(card.slice(at, at + run.length)).join())) right++
        }
        at += run.length
      }
    }
    console.log(`made cards: ${right} of ${all} brackets exactly right (${((100 * right) / all).toFixed(1)} %)`)
    expect(right / all).toBeGreaterThan(0.97)
  })
})
