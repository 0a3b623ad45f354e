import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { anyNumber } from './flight.fixture.ts'
import { groundSpeed, type Terrain, terrains, windAlong, windAt } from './wind.ts'

const wind = (speed: number, gust: number | null = null, from: number | null = 0) => ({
  speedMetresPerSecond: speed,
  gustMetresPerSecond: gust,
  fromDegrees: from,
  measuredAtMetres: 10,
})

describe('wind with height', () => {
  it('at 120 m is 1.28, 1.43, 1.86 and 2.39 times that at 10 m (power law; common practice)', () => {
    const factor = (t: Terrain) => windAt(wind(1), t, 120).speedMetresPerSecond
    expect(factor('water')).toBeCloseTo(1.28, 2)
    expect(factor('open')).toBeCloseTo(1.426, 3)
    expect(factor('suburb')).toBeCloseTo(1.86, 2)
    expect(factor('city')).toBeCloseTo(2.39, 2)
    expect(windAt(wind(6.5), 'city', 10).speedMetresPerSecond).toBe(6.5)
  })

  it('never falls with height or with the wind below, and the gust stays above the mean', () => {
    const terrain = fc.constantFrom(...(Object.keys(terrains) as Terrain[]))
    fc.assert(
      fc.property(
        terrain,
        anyNumber(0, 30),
        anyNumber(0, 10),
        anyNumber(-100, 500),
        anyNumber(0, 100),
        (t, v, dv, z, dz) => {
          const low = windAt(wind(v, v + dv), t, z)
          const high = windAt(wind(v + dv, v + 2 * dv), t, z + dz)
          expect(high.speedMetresPerSecond).toBeGreaterThanOrEqual(low.speedMetresPerSecond)
          expect(low.gustMetresPerSecond!).toBeGreaterThanOrEqual(low.speedMetresPerSecond)
        },
      ),
    )
  })

  it('keeps an unknown gust unknown, and takes one below the mean as the mean', () => {
    expect(windAt(wind(5), 'open', 50).gustMetresPerSecond).toBeNull()
    expect(windAt(wind(5, 3), 'open', 10).gustMetresPerSecond).toBe(5)
    expect(windAt(wind(5, 8), 'open', 10).gustMetresPerSecond).toBe(8)
  })

  it('refuses wind that is none', () => {
    for (const speed of [-1, Number.NaN, 1000])
      expect(() => windAt(wind(speed), 'open', 10)).toThrow('windMetresPerSecond')
  })
})

describe('wind against a course', () => {
  const aloft = (speed: number, from: number | null) => windAt(wind(speed, null, from), 'open', 10)

  it('is head, cross or tail by the wind triangle', () => {
    expect(windAlong(aloft(6, 90), 90).head).toBeCloseTo(6)
    expect(windAlong(aloft(6, 90), 0).cross).toBeCloseTo(6)
    expect(windAlong(aloft(6, 90), 270).head).toBeCloseTo(-6)
    expect(groundSpeed(10, aloft(6, 90), 90)).toBeCloseTo(4)
    // 3-4-5: 6 across at 10 leaves 8.
    expect(groundSpeed(10, aloft(6, 90), 0)).toBeCloseTo(8)
    expect(groundSpeed(10, aloft(6, null), 123)).toBeCloseTo(4)
  })

  it('does not count on a tailwind, and has no speed when the wind wins', () => {
    expect(groundSpeed(10, aloft(6, 90), 270)).toBe(10)
    for (const course of [0, 90]) expect(groundSpeed(10, aloft(10, 90), course)).toBeNull()
  })

  it('never grows with the wind, on any course', () => {
    fc.assert(
      fc.property(anyNumber(0, 25), anyNumber(0, 5), anyNumber(0, 360), anyNumber(0, 360), (v, dv, from, course) => {
        const less = groundSpeed(12, aloft(v, from), course)
        const more = groundSpeed(12, aloft(v + dv, from), course)
        expect(more ?? 0).toBeLessThanOrEqual((less ?? 0) + 1e-9)
      }),
      { numRuns: 500 },
    )
  })
})
