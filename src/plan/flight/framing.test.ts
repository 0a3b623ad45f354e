import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { allFinite, anyView, lens, lock } from './flight.fixture.ts'
import { footprintOf, horizonInFrame } from './framing.ts'
import { wayBetween } from './geodesic.ts'
import { horizonDipDegrees } from './horizon.ts'

const view = (heightMetres: number, tiltDegrees: number, headingDegrees = 0) => ({
  position: lock,
  heightMetres,
  headingDegrees,
  tiltDegrees,
})

describe('the frame on the ground', () => {
  it('straight down covers and samples what photogrammetry’s rows say, to their digits', () => {
    for (const [h, cm, across, down] of [
      [30, 1.062925, 42.857, 32.143],
      [60, 2.12585, 85.714, 64.286],
      [120, 4.251701, 171.429, 128.571],
    ] as const) {
      const f = footprintOf(view(h, -90), lens)
      expect(f.samplingAtNadir!.acrossMetres * 100).toBeCloseTo(cm, 6)
      expect(f.samplingAtCentre!.alongMetres * 100).toBeCloseTo(cm, 6)
      const [a, b, c] = f.corners
      expect(b!.eastMetres - a!.eastMetres).toBeCloseTo(across, 3)
      expect(b!.northMetres - c!.northMetres).toBeCloseTo(down, 3)
      expect(f.slantMetres).toBeCloseTo(h, 9)
      expect(f.without).toBeNull()
    }
  })

  it('at −45° from 100 m reaches from 30.23 to 330.8 m and samples 5.010677 by 7.086168 cm', () => {
    const f = footprintOf(view(100, -45, 90), lens)
    // The row says 330.80, from a half field rounded to 28.18°; in closed form it is 100·(6.72 + 3.6)/(6.72 − 3.6) = 330.77.
    expect(Math.abs(f.topEdge!.distanceMetres - 330.8)).toBeLessThan(0.04)
    expect(f.topEdge!.distanceMetres).toBeCloseTo((100 * 10.32) / 3.12, 9)
    expect(f.centre!.distanceMetres).toBeCloseTo(100, 9)
    expect(f.centre!.eastMetres).toBeCloseTo(100, 9)
    expect(f.bottomEdge!.distanceMetres).toBeCloseTo(30.23, 2)
    expect(f.samplingAtCentre!.acrossMetres * 100).toBeCloseTo(5.010677, 6)
    expect(f.samplingAtCentre!.alongMetres * 100).toBeCloseTo(7.086168, 6)
  })

  it('turns with the heading: looking down, the top of the picture is where the nose points', () => {
    const f = footprintOf(view(100, -90, 90), lens)
    expect(f.topEdge!.eastMetres).toBeCloseTo(53.571, 3)
    expect(f.topEdge!.northMetres).toBeCloseTo(0, 6)
    const way = wayBetween(lock, f.topEdge!.coordinates)
    expect(way.distanceMetres).toBeCloseTo(53.571, 3)
    expect(way.azimuthDegrees).toBeCloseTo(90, 6)
  })

  it('has no corner above the horizon, and says why', () => {
    const f = footprintOf(view(100, -10), lens)
    expect(f.corners.map((c) => c === null)).toEqual([true, true, false, false])
    expect(f.without).toBe('above-the-horizon')
    expect(footprintOf(view(100, 0), lens).slantMetres).toBeNull()
    expect(footprintOf(view(-3, -60), lens).without).toBe('not-over-the-ground')
    expect(footprintOf(view(40, -90), lens, 10).samplingAtNadir).toEqual(
      footprintOf(view(30, -90), lens).samplingAtNadir,
    )
  })

  it('holds the horizon where the tilt puts it', () => {
    expect(horizonInFrame(view(100, 0), lens)).toEqual({ rowPixels: 1512, inFrame: true, aboveCentreDegrees: 0 })
    // Half the field below the axis is the frame's upper edge.
    const edge = horizonInFrame(view(100, -lens.fieldDownDegrees / 2), lens)
    expect(edge.rowPixels).toBeCloseTo(0, 6)
    expect(horizonInFrame(view(100, -45), lens).inFrame).toBe(false)
    expect(horizonInFrame(view(100, -90), lens).rowPixels).toBeNull()
    const sea = horizonInFrame(view(120, 0), lens, horizonDipDegrees(120))
    expect(sea.rowPixels! - 1512).toBeCloseTo(lens.focalPixels * Math.tan((21.1 / 60) * (Math.PI / 180)), 1)
  })

  it('is finite everywhere on the globe and at every tilt', () => {
    fc.assert(
      fc.property(anyView, (v) => {
        expect(allFinite(footprintOf(v, lens))).toBe(true)
        expect(allFinite(horizonInFrame(v, lens))).toBe(true)
      }),
      { numRuns: 1000 },
    )
  })

  it('lies further off the less the camera looks down', () => {
    fc.assert(
      fc.property(
        fc.double({ min: -89, max: -31, noNaN: true }),
        fc.double({ min: 0.1, max: 1, noNaN: true }),
        (t, d) => {
          const near = footprintOf(view(100, t), lens).topEdge!.distanceMetres
          expect(footprintOf(view(100, t + d), lens).topEdge!.distanceMetres).toBeGreaterThan(near)
        },
      ),
    )
  })

  it('refuses a tilt beyond straight up or down', () => {
    for (const tilt of [-90.1, 91, Number.NaN])
      expect(() => footprintOf(view(100, tilt), lens)).toThrow(/flight-fact-unusable.*tiltDegrees/)
  })
})
