import { describe, expect, it } from 'vitest'
import { lensOf } from './lens.ts'

/** An invented camera of the 1/1.3-inch class, whose figures stand in handbooks' rows (common practice). */
const camera = {
  sensorWidthMillimetres: 9.6,
  sensorHeightMillimetres: 7.2,
  widthPixels: 4032,
  heightPixels: 3024,
  focalLengthMillimetres: 6.72,
}

describe('the lens of a camera', () => {
  it('has the fields of view and pitch of a worked example, to its printed digits', () => {
    const lens = lensOf(camera)
    expect(lens.fieldAcrossDegrees).toBeCloseTo(71.0754, 4)
    expect(lens.fieldDownDegrees).toBeCloseTo(56.3572, 4)
    expect(lens.fieldDiagonalDegrees).toBeCloseTo(83.5206, 4)
    expect(lens.pitchMicrometres).toBeCloseTo(2.380952, 6)
    expect(lens.focalPixels).toBeCloseTo((6.72 / 9.6) * 4032, 9)
    expect(lens.focalPixelsDown).toBeCloseTo(lens.focalPixels, 9)
  })

  it('refuses a camera that contradicts itself, and says which fact is no fact', () => {
    expect(() => lensOf({ ...camera, heightPixels: 2268 })).toThrow('camera-contradictory')
    for (const value of [0, -1, Number.NaN, Number.POSITIVE_INFINITY])
      expect(() => lensOf({ ...camera, focalLengthMillimetres: value })).toThrow(/camera-fact-unusable.*focalLength/)
    expect(lensOf({ ...camera, sensorHeightMillimetres: 7.3 }).focalPixels).toBeCloseTo(2822.4, 6)
  })
})
