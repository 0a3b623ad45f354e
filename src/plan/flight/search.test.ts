import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { courseOf, type Evening } from './evening.ts'
import { aircraft, anyNumber, calm, lock } from './flight.fixture.ts'
import { placeAt } from './geodesic.ts'
import { bestByInsertion, bestOfEveryOrder, CLOSE_ENOUGH } from './search.ts'
import { timetableOf } from './timetable.ts'

const from = Date.UTC(2027, 1, 9, 16, 30)

const anyEvening = fc.record({
  viewpoints: fc.array(
    fc.record({
      azimuth: anyNumber(0, 360),
      metres: anyNumber(20, 1500),
      heightMetres: anyNumber(10, 110),
      headingDegrees: anyNumber(0, 360),
      tiltDegrees: anyNumber(-90, 0),
      minutes: anyNumber(1, 8),
      wanted: fc.option(anyNumber(0, 60)),
    }),
    { minLength: 1, maxLength: 5 },
  ),
  window: anyNumber(5, 70),
  batteries: fc.option(fc.integer({ min: 0, max: 3 })),
  rated: anyNumber(10, 40),
  wind: anyNumber(0, 7),
})

type Drawn = typeof anyEvening extends fc.Arbitrary<infer T> ? T : never

function made(e: Drawn) {
  const evening: Evening = {
    from,
    until: from + e.window * 60_000,
    sunAzimuthDegrees: 245,
    batteries: e.batteries,
    swapMinutes: 2,
    stay: {
      aircraft: { ...aircraft, ratedMinutes: e.rated },
      conditions: { ...calm, wind: { ...calm.wind, speedMetresPerSecond: e.wind } },
      takeOff: lock,
      home: lock,
      returnHeightMetres: 60,
    },
  }
  const viewpoints = e.viewpoints.map((v, i) => ({
    ...v,
    name: `v${i}`,
    position: placeAt(lock, v.azimuth, v.metres),
    wantedAt: v.wanted === null ? null : from + v.wanted * 60_000,
  }))
  return { viewpoints, evening }
}

/** Every order of every choice of `count`. */
function* orders(n: number, count: number, begun: number[] = []): Generator<number[]> {
  if (begun.length === count) yield begun
  else for (let v = 0; v < n; v++) if (!begun.includes(v)) yield* orders(n, count, [...begun, v])
}

describe('the search for the best order', () => {
  it('finds what trying every order finds, to a quarter of a minute', () => {
    let compared = 0
    let worst = 0
    fc.assert(
      fc.property(anyEvening, (e) => {
        const { viewpoints, evening } = made(e)
        const { course } = courseOf(viewpoints, evening)
        for (let count = 1; count <= course.viewpoints.length; count++) {
          let least = Number.POSITIVE_INFINITY
          for (const order of orders(course.viewpoints.length, count))
            least = Math.min(least, timetableOf(course, order)?.cost ?? Number.POSITIVE_INFINITY)
          const found = bestOfEveryOrder(course, count)
          if (least === Number.POSITIVE_INFINITY) expect(found).toBeNull()
          else {
            compared++
            worst = Math.max(worst, found!.cost - least)
            expect(found!.cost).toBeGreaterThanOrEqual(least - 1e-6)
          }
        }
      }),
      { numRuns: 400 },
    )
    console.log(`orders: ${compared} searches against trying every order: worst ${worst.toFixed(3)} minutes`)
    expect(worst).toBeLessThanOrEqual(CLOSE_ENOUGH)
    expect(compared).toBeGreaterThan(300)
  })

  it('by insertion fits no more than there is room for, and never beats every order', () => {
    fc.assert(
      fc.property(anyEvening, (e) => {
        const { viewpoints, evening } = made(e)
        const { course } = courseOf(viewpoints, evening)
        const found = bestByInsertion(course)
        if (found === null) return
        const best = bestOfEveryOrder(course, found.calls.length)!
        expect(found.cost).toBeGreaterThanOrEqual(best.cost - CLOSE_ENOUGH)
      }),
      { numRuns: 200 },
    )
  })
})
