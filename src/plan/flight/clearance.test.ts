import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { legProfile } from './clearance.ts'
import { allFinite, anyNumber, anyPlace, lock, mast } from './flight.fixture.ts'
import { placeAt } from './geodesic.ts'

const home = { name: 'home', position: lock, heightMetres: 0 }
const weir = { name: 'weir', position: placeAt(lock, 90, 500), heightMetres: 60 }
const onWay = (metres: number) => placeAt(lock, 90, metres)

describe('the clearance of a leg', () => {
  it('is the level part’s height less the top, by hand; the way home is flown at the return height', () => {
    const out = legProfile(home, weir, [mast(42, onWay(200))])
    expect(out).toMatchObject({ cruiseHeightMetres: 60, leastClearanceMetres: 18, problem: null })
    expect(out.lengthMetres).toBeCloseTo(500, 6)
    const back = legProfile(weir, home, [mast(42, onWay(200))], {}, 90)
    expect(back).toMatchObject({ cruiseHeightMetres: 90, leastClearanceMetres: 48, problem: null })
    expect(back.path.map((p) => p.heightMetres)).toEqual([60, 90, 90, 0])
    expect(back.obstacles[0]!.alongMetres).toBeCloseTo(300, 3)
  })

  it('says when a margin is not kept, and when the way leads into something', () => {
    expect(legProfile(home, weir, [mast(46, onWay(200))])).toMatchObject({ problem: 'obstacle-too-close' })
    expect(legProfile(home, weir, [mast(70, onWay(200))]).leastClearanceMetres).toBe(-10)
    expect(legProfile(home, { ...weir, heightMetres: 130 }, [])).toMatchObject({ problem: 'above-ceiling' })
    expect(legProfile(home, weir, [])).toMatchObject({ leastClearanceMetres: null, problem: null })
  })

  it('beside a viewpoint counts from where the aircraft hangs, not from the leg above it', () => {
    const low = { name: 'low', position: onWay(100), heightMetres: 20 }
    const beside = legProfile(weir, low, [mast(30, onWay(110))])
    expect(beside).toMatchObject({ cruiseHeightMetres: 60, leastClearanceMetres: -10, problem: 'obstacle-too-close' })
  })

  it('never grows with the obstacle, and is finite all over the globe', () => {
    fc.assert(
      fc.property(
        anyPlace,
        anyNumber(0, 600),
        anyNumber(0, 150),
        anyNumber(0, 100),
        anyNumber(1, 120),
        (p, d, h, more, z) => {
          const leg = (top: number) =>
            legProfile(
              { name: 'a', position: p, heightMetres: z },
              { name: 'b', position: placeAt(p, 30, 500), heightMetres: 0 },
              [mast(top, placeAt(p, 30, d))],
            )
          expect(allFinite(leg(h))).toBe(true)
          expect(leg(h + more).leastClearanceMetres ?? 0).toBeLessThanOrEqual(leg(h).leastClearanceMetres ?? 0)
        },
      ),
      { numRuns: 500 },
    )
  })
})
