import { describe, expect, it } from 'vitest'
import { type CautionInput, cautionCodes, cautionsOf } from './cautions.ts'
import { legProfile } from './clearance.ts'
import { lock, mast } from './flight.fixture.ts'
import { placeAt } from './geodesic.ts'
import { checkHomePoint } from './home-point.ts'
import { returnHeight } from './return-height.ts'

const weir = { name: 'weir', position: placeAt(lock, 90, 400), heightMetres: 60 }
const home = { name: 'home', position: lock, heightMetres: 0 }
const tree = mast(20, placeAt(lock, 90, 200))

const quiet: CautionInput = {
  temperatureCelsius: 15,
  wind: { speedMetresPerSecond: 3, gustMetresPerSecond: 5, fromDegrees: 0 },
  windLimitMetresPerSecond: 10,
  returnHeight: returnHeight([weir.position], lock, [tree]),
  legs: [legProfile(home, weir, [tree])],
  cannotReturn: [],
  sensing: { from: null, why: 'bright-all-along', thresholdLux: 10 },
  home: checkHomePoint(lock, lock, true),
  farthestMetres: 400,
  highestMetres: 60,
  obstacles: 1,
  reconDone: true,
  overWater: false,
  clock: (at) => new Date(at).toISOString().slice(11, 16),
}

const called = (change: Partial<CautionInput>) =>
  cautionsOf({ ...quiet, ...change }).filter((c) => c.weight !== 'always')

describe('cautions', () => {
  it('of every flight are there whatever the plan says', () => {
    const all = cautionsOf(quiet)
    expect(all.every((c) => c.weight === 'always')).toBe(true)
    expect(all.map((c) => c.code)).toEqual([
      'local-rules',
      'line-of-sight',
      'anti-collision-light',
      'people-below',
      'recon-in-daylight',
      'eyes-to-the-dark',
      'return-climbs-first',
      'land-by-hand',
    ])
    expect(all.find((c) => c.code === 'return-climbs-first')!.facts).toEqual({ returnHeightMetres: 35 })
    expect(all.find((c) => c.code === 'line-of-sight')!.facts).toEqual({ farthestMetres: 400, highestMetres: 60 })
  })

  it('are called for by values, with the values', () => {
    const blind = { from: Date.UTC(2027, 1, 9, 16, 42), why: null, thresholdLux: 10 }
    expect(called({ sensing: blind })).toEqual([
      { code: 'sensing-blind-from', weight: 'watch', facts: { thresholdLux: 10, time: '16:42' } },
    ])
    expect(called({ temperatureCelsius: 2 })[0]).toMatchObject({
      code: 'cold-battery',
      facts: { temperatureCelsius: 2 },
    })
    expect(called({ home: checkHomePoint(weir.position, lock, false) }).map((c) => c.code)).toEqual([
      'home-away-from-take-off',
      'landing-place-unlit',
    ])
    expect(called({ overWater: true, obstacles: 0, reconDone: false }).map((c) => c.code)).toEqual([
      'no-obstacles-listed',
      'no-recon',
      'over-water',
    ])
    expect(called({ windLimitMetresPerSecond: null })[0]!.code).toBe('wind-limit-not-known')
  })

  it('that stop come first', () => {
    const tower = mast(110, placeAt(lock, 90, 200))
    const found = called({
      cannotReturn: [{ name: 'mill', why: 'reserve-eaten' }],
      returnHeight: returnHeight([weir.position], lock, [tower]),
      legs: [legProfile(home, weir, [tower]), legProfile(weir, home, [tower, mast(5, null)])],
      wind: { ...quiet.wind, speedMetresPerSecond: 12 },
      temperatureCelsius: -3,
    })
    expect(found.map((c) => [c.code, c.weight])).toEqual([
      ['cannot-return', 'stop'],
      ['obstacle-above-ceiling', 'stop'],
      ['obstacle-too-close', 'stop'],
      ['obstacle-too-close', 'stop'],
      ['wind-over-limit', 'stop'],
      ['obstacle-place-unknown', 'watch'],
      ['cold-battery', 'watch'],
    ])
    expect(called({ wind: { ...quiet.wind, gustMetresPerSecond: 11 } })[0]!.code).toBe('gust-over-limit')
  })

  it('have codes from one closed list', () => {
    expect(new Set(cautionCodes).size).toBe(cautionCodes.length)
  })
})
