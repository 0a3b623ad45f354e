import { describe, expect, it } from 'vitest'
import { aircraft, calm, lock } from './flight.fixture.ts'
import { placeAt } from './geodesic.ts'
import { legBetween, legHome } from './legs.ts'

const spot = (azimuth: number, metres: number, heightMetres: number) => ({
  position: placeAt(lock, azimuth, metres),
  heightMetres,
})
const ground = { position: lock, heightMetres: 0 }
const fromEast = (speed: number) => ({ ...calm, wind: { ...calm.wind, speedMetresPerSecond: speed, fromDegrees: 90 } })

describe('a leg', () => {
  it('goes up, across and down, by hand', () => {
    // 60 m up at 4 m/s: 15 s; 600 m at 10 m/s: 60 s.
    const out = legBetween(ground, spot(90, 600, 60), aircraft, calm)!
    expect(out.minutes).toBeCloseTo(75 / 60, 9)
    expect(out).toMatchObject({ cruiseHeightMetres: 60 })
    expect(out.courseDegrees).toBeCloseTo(90, 9)
    // Home: 60 to 90 m 7.5 s, across 60 s, 90 m down at 3 m/s 30 s, landing 60 s.
    expect(legHome(spot(90, 600, 60), lock, 90, aircraft, calm)!.minutes).toBeCloseTo(157.5 / 60, 9)
    // Higher than the return height already: it stays up.
    expect(legHome(spot(90, 600, 120), lock, 90, aircraft, calm, 0)!.minutes).toBeCloseTo(100 / 60, 9)
  })

  it('is slower against the wind at its height and no faster with it', () => {
    const against = legBetween(spot(0, 0, 10), spot(90, 600, 10), aircraft, fromEast(4))!
    expect(against.minutes).toBeCloseTo(600 / 6 / 60, 6)
    const with_ = legBetween(spot(90, 600, 10), spot(0, 0, 10), aircraft, fromEast(4))!
    expect(with_.minutes).toBeCloseTo(1, 6)
  })

  it('is none where the wind wins, unless there is no way to go', () => {
    expect(legBetween(spot(0, 0, 10), spot(90, 600, 10), aircraft, fromEast(10))).toBeNull()
    expect(legBetween(ground, { ...ground, heightMetres: 40 }, aircraft, fromEast(10))!.minutes).toBeCloseTo(10 / 60, 9)
  })
})
