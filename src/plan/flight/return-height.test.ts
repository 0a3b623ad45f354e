import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { anyNumber, anyPlace, lock, mast } from './flight.fixture.ts'
import { placeAt } from './geodesic.ts'
import { returnHeight } from './return-height.ts'

const weir = placeAt(lock, 90, 500)
const onWay = (metres: number) => placeAt(lock, 90, metres)

describe('the return height', () => {
  it('is the highest top in the way plus the margin, by hand', () => {
    const found = returnHeight([weir], lock, [
      mast(42, onWay(250)),
      mast(60, onWay(400)),
      mast(100, placeAt(lock, 0, 200)),
    ])
    expect(found).toMatchObject({ can: true, heightMetres: 75, over: { heightMetres: 60 }, marginMetres: 15 })
    expect(returnHeight([weir], lock, [{ ...mast(60, onWay(400)), errorMetres: 4 }])).toMatchObject({
      heightMetres: 79,
    })
    expect(returnHeight([weir], lock, [mast(60, onWay(400))], { marginMetres: 20 })).toMatchObject({ heightMetres: 80 })
  })

  it('serves every viewpoint', () => {
    const north = placeAt(lock, 0, 300)
    const mill = mast(100, placeAt(lock, 0, 200))
    expect(returnHeight([weir, north], lock, [mill])).toMatchObject({ heightMetres: 115 })
    expect(returnHeight([weir], lock, [mill])).toMatchObject({ heightMetres: 30, over: null })
  })

  it('is none where the highest top leaves no room under the ceiling, and says what it would take', () => {
    const tower = mast(106, onWay(250))
    expect(returnHeight([weir], lock, [tower])).toMatchObject({
      can: false,
      why: 'obstacle-above-ceiling',
      neededMetres: 121,
      ceilingMetres: 120,
    })
    expect(returnHeight([weir], lock, [mast(105, onWay(250))])).toMatchObject({ can: true, heightMetres: 120 })
    expect(returnHeight([weir], lock, [], { ceilingMetres: 20 })).toMatchObject({ can: true, heightMetres: 20 })
  })

  it('never falls when an obstacle grows, widens or is added', () => {
    const obstacle = fc.record({ azimuth: anyNumber(0, 360), metres: anyNumber(0, 600), top: anyNumber(0, 200) })
    fc.assert(
      fc.property(
        anyPlace,
        fc.array(obstacle, { minLength: 1, maxLength: 5 }),
        anyNumber(0, 100),
        fc.constantFrom('higher', 'wider', 'added', 'less known'),
        (home, all, by, how) => {
          const from = placeAt(home, 90, 500)
          const made = all.map((o) => mast(o.top, placeAt(home, o.azimuth, o.metres)))
          const value = (list: typeof made) => {
            const found = returnHeight([from], home, list)
            return found.can ? found.heightMetres : found.neededMetres
          }
          const first = made[0]!
          const changed = {
            higher: { ...first, heightMetres: first.heightMetres + by },
            wider: { ...first, radiusMetres: by },
            added: mast(by, placeAt(home, 90, 250)),
            'less known': { ...first, position: null },
          }[how]!
          const after = how === 'added' ? [...made, changed] : [changed, ...made.slice(1)]
          expect(value(after)).toBeGreaterThanOrEqual(value(made))
        },
      ),
      { numRuns: 1000 },
    )
  })
})
