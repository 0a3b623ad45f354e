import { describe, expect, it } from 'vitest'
import { afterGain, dynamicRangeStops, electronsOf, noiseOf, noisePlanes, signalToNoise, varianceAt } from './noise.ts'
import { saturationLuminance } from './saturation.ts'

// A made-up sensor, full well 6000 electrons, read noise 1.8, black 256, white 4095; closed forms worked by hand.
const reference = noiseOf({ fullWellElectrons: 6000, readNoiseElectrons: 1.8 })
const codesPerElectron = (4095 - 256) / 6000

describe('the noise model', () => {
  it.each([
    [0, 0.0003, 1.8, 1.1517, 0],
    [1, 0.000343187671, 2.05912603, 1.31749747, 0.485642931],
    [10, 0.000606446847, 3.63868108, 2.32814944, 2.74824855],
    [100, 0.00169345144, 10.1607086, 6.50116008, 9.84183324],
    [1000, 0.00527899401, 31.6739641, 20.266058, 31.5716719],
    [3000, 0.00913363746, 54.8018248, 35.0640342, 54.7427027],
    [6000, 0.0129134297, 77.4805782, 49.5746566, 77.4387613],
  ])('at %i electrons gives the noise that photon transfer gives', (electrons, sx, se, codes, snr) => {
    const x = electrons / 6000
    const sigma = Math.sqrt(varianceAt(reference, x))
    expect(sigma).toBeCloseTo(sx, 11)
    expect(sigma * 6000).toBeCloseTo(se, 6)
    expect(sigma * 6000 * codesPerElectron).toBeCloseTo(codes, 6)
    expect(signalToNoise(reference, x)).toBeCloseTo(snr, 6)
  })

  it('has 11.70275 stops between full well and read noise', () => {
    expect(dynamicRangeStops(reference)).toBeCloseTo(11.70275, 5)
  })

  it('adds the quantisation of EMVA 1288: 321.4104 codes² at 500 codes, gain 0.64, 1.8 electrons', () => {
    const levels = 4096
    const term = noiseOf({ fullWellElectrons: levels / 0.64, readNoiseElectrons: 1.8 }, levels)
    expect(varianceAt(term, 500 / levels) * levels * levels).toBeCloseTo(321.4104, 4)
  })

  it('of a signal in DNG terms: scale 2e-5 and offset 4.5e-7 give 0.0020125 at mid grey', () => {
    expect(Math.sqrt(varianceAt({ scale: 2e-5, offset: 4.5e-7 }, 0.18))).toBeCloseTo(0.0020124612, 10)
  })

  it('of an amplified signal is the amplified noise', () => {
    const g = 3.7
    const louder = afterGain(reference, g)
    for (const x of [0, 0.01, 0.5]) expect(varianceAt(louder, g * x)).toBeCloseTo(g * g * varianceAt(reference, x), 15)
    expect(electronsOf(louder).readNoiseElectrons).toBeCloseTo(1.8, 12)
    expect(electronsOf(louder).fullWellElectrons).toBeCloseTo(6000 / g, 9)
  })

  it('below black is the read noise', () => {
    expect(varianceAt(reference, -0.2)).toBe(reference.offset)
  })

  it('of a file: one term serves all planes; zeros, other counts and absence are none', () => {
    expect(noisePlanes([reference], 3)).toEqual([reference, reference, reference])
    expect(noisePlanes([reference, reference, reference], 3)).toHaveLength(3)
    expect(noisePlanes([reference, reference], 3)).toBeNull()
    expect(noisePlanes([{ scale: 0, offset: 0 }], 3)).toBeNull()
    expect(noisePlanes([{ scale: 1e-4, offset: -1 }], 3)).toBeNull()
    expect(noisePlanes(null, 3)).toBeNull()
  })
})

describe('saturation luminance', () => {
  // 1.2 · 2^EV100 by ISO 12232; worked for exposures of twilight and day.
  it.each([
    [1.7, 1 / 30, 100, 104.04],
    [1.7, 1, 100, 3.468],
    [1.7, 2, 400, 0.4335],
    [2.8, 1 / 8, 200, 37.632],
    [4, 8, 100, 2.4],
    [1.7, 1 / 60, 1600, 13.005],
    [16, 1 / 125, 100, 38400],
  ])('at f/%f, %f s, ISO %i is %f cd/m²', (n, t, s, luminance) => {
    expect(saturationLuminance(n, t, s)).toBeCloseTo(luminance, 9)
  })
})
