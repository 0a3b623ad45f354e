import { describe, expect, it } from 'vitest'
import { attitudeFrom, positionFrom, xmpNumber } from './attitude.ts'

const xmp = (facts: Record<string, string>) => new Map(Object.entries(facts))

describe('attitude from XMP', () => {
  it.each([
    ['+40.10', 40.1],
    ['-0.5', -0.5],
    ['12', 12],
    ['.5', 0.5],
    ['1003/10', 100.3],
    ['39.9 m', 39.9],
  ])('%s is read as a number', (text, value) => {
    expect(xmpNumber(text)).toBe(value)
  })

  it.each(['', 'NaN', '1e9', '--4', '12,5', '1/0', '4 5', 'north'])('"%s" is none', (text) => {
    expect(xmpNumber(text)).toBeNull()
  })

  it('is null as a whole where nothing is said, and fact by fact where some is missing', () => {
    expect(attitudeFrom(xmp({ Version: '1.0' }))).toBeNull()
    expect(attitudeFrom(xmp({ RelativeAltitude: '+0.00', VelocityZ: '-1' }))).toEqual({
      relativeHeightMetres: 0,
      gimbalPitch: null,
      gimbalYaw: null,
      gimbalRoll: null,
      flightYaw: null,
      flightPitch: null,
      flightRoll: null,
      speedNorth: null,
      speedEast: null,
      speedDown: -1,
    })
  })

  it('does not believe absurd values', () => {
    expect(attitudeFrom(xmp({ GimbalPitchDegree: '-9000', FlightXSpeed: '99999' }))).toBeNull()
  })

  it('gives a position in decimal degrees, but not the place of no fix', () => {
    expect(positionFrom(xmp({ GpsLatitude: '60.17', GpsLongtitude: '+24.94', AbsoluteAltitude: '+98.4' }))).toEqual({
      latitude: 60.17,
      longitude: 24.94,
      altitudeMetres: 98.4,
    })
    expect(positionFrom(xmp({ GpsLatitude: '0.0', GpsLongitude: '0.0' }))).toBeNull()
    expect(positionFrom(xmp({ GpsLatitude: '60' }))).toBeNull()
  })
})
