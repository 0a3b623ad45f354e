import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { sunLux } from './illuminance.ts'
import { apparentAltitude } from './refraction.ts'
import { separation, skyLuminance, zenithByPatat, zenithShare } from './sky-luminance.ts'

const moon = { altitude: -30, azimuth: 0, elongation: 10 }
const view = (sunAltitude: number) =>
  ({ sun: { altitude: sunAltitude, azimuth: 270 }, moon, skyglowMagnitudes: null, cloudDivisor: 1 }) as const

describe('the luminance of the sky', () => {
  it('has the cited zenith: 13.30 magnitudes and 0.52 cd/m² with the sun at −6°', () => {
    // Patat, Ugolnikov, Postylyakov 2006.
    expect(zenithByPatat(6)).toBeCloseTo(0.52, 2)
    let worst = 0
    for (let d = 5; d <= 9; d += 0.25) {
      const zenith = skyLuminance(view(-d), { altitude: 90, azimuth: 0 })
      worst = Math.max(worst, Math.abs(Math.log2(zenith / zenithByPatat(d))))
    }
    console.log(`zenith against the fit, −5 to −9°: worst ${worst.toFixed(3)} stop`)
    expect(worst).toBeLessThan(0.05)
  })

  it('keeps within half a stop of the fit where the night takes over, to −11°', () => {
    let worst = 0
    for (let d = 9; d <= 11; d += 0.25) {
      const zenith = skyLuminance(view(-d), { altitude: 90, azimuth: 0 })
      worst = Math.max(worst, Math.abs(Math.log2(zenith / zenithByPatat(d))))
    }
    console.log(`zenith against the fit, −9 to −11°: worst ${worst.toFixed(2)} stop`)
    expect(worst).toBeLessThan(0.5)
  })

  it('lights the ground as the model of illuminance says: the dome’s integral is that light', () => {
    let worst = 0
    for (let h = 0; h >= -18; h -= 1) {
      let sum = 0
      for (let a = 1; a < 90; a += 2)
        for (let z = 0; z < 360; z += 5) {
          const [r, step] = [(a * Math.PI) / 180, ((2 * Math.PI) / 180) * ((5 * Math.PI) / 180)]
          sum += skyLuminance(view(h), { altitude: a, azimuth: z }) * Math.sin(r) * Math.cos(r) * step
        }
      worst = Math.max(worst, Math.abs(Math.log2(sum / sunLux('C', apparentAltitude(h)))))
    }
    console.log(`light of the dome against the model: worst ${worst.toFixed(3)} stop`)
    expect(worst).toBeLessThan(0.1)
  })

  it('falls with the sun in every direction, from sunset to night', () => {
    for (const altitude of [2, 12, 30, 60, 90])
      for (const azimuth of [90, 180, 270]) {
        let before = Number.POSITIVE_INFINITY
        for (let h = 0; h >= -17; h -= 0.1) {
          const now = skyLuminance(view(h), { altitude, azimuth })
          expect(now, `sun ${h.toFixed(1)}, looking ${altitude}° ${azimuth}°`).toBeLessThan(before)
          before = now
        }
      }
  })

  it('is brightest over the sun, by one to three stops at the horizon in the middle of twilight', () => {
    const toward = skyLuminance(view(-6), { altitude: 5, azimuth: 270 })
    const away = skyLuminance(view(-6), { altitude: 5, azimuth: 90 })
    const stops = Math.log2(toward / away)
    console.log(`sunward against antisolar horizon at −6°: ${stops.toFixed(2)} stops`)
    expect(stops).toBeGreaterThan(1)
    expect(stops).toBeLessThan(3.5)
  })

  it('is a positive number in every direction under any sun', () => {
    const angle = fc.double({ min: -90, max: 90, noNaN: true })
    const turn = fc.double({ min: 0, max: 360, noNaN: true })
    fc.assert(
      fc.property(angle, angle, angle, turn, turn, (sun, moonAltitude, look, azimuth, moonAzimuth) => {
        const sky = { ...view(sun), moon: { altitude: moonAltitude, azimuth: moonAzimuth, elongation: 100 } }
        const l = skyLuminance(sky, { altitude: look, azimuth })
        expect(l > 0 && Number.isFinite(l)).toBe(true)
        expect(zenithShare(sun) >= 0.25 && zenithShare(sun) <= 1).toBe(true)
      }),
    )
  })

  it('measures angles between directions', () => {
    expect(separation({ altitude: 90, azimuth: 3 }, { altitude: 10, azimuth: 200 })).toBeCloseTo(80, 9)
    expect(separation({ altitude: 0, azimuth: 10 }, { altitude: 0, azimuth: 350 })).toBeCloseTo(20, 9)
  })
})
