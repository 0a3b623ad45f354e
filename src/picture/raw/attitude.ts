import type { Attitude, XmpProperties } from '#core/formats'
import type { Position } from './types.ts'

/** Local names under which makers write each fact, most specific first; the namespace does not matter. */
const NAMES = {
  relativeHeightMetres: [
    'RelativeAltitude',
    'RelativeHeight',
    'AltitudeRelative',
    'HeightAboveTakeoff',
    'TakeoffRelativeAltitude',
  ],
  gimbalPitch: ['GimbalPitchDegree', 'GimbalPitch', 'CameraPitchDegree', 'CameraPitch'],
  gimbalYaw: ['GimbalYawDegree', 'GimbalYaw', 'CameraYawDegree', 'CameraYaw'],
  gimbalRoll: ['GimbalRollDegree', 'GimbalRoll', 'CameraRollDegree', 'CameraRoll'],
  flightYaw: ['FlightYawDegree', 'FlightYaw', 'AircraftYawDegree', 'AircraftYaw', 'DroneYawDegree', 'DroneYaw'],
  flightPitch: [
    'FlightPitchDegree',
    'FlightPitch',
    'AircraftPitchDegree',
    'AircraftPitch',
    'DronePitchDegree',
    'DronePitch',
  ],
  flightRoll: ['FlightRollDegree', 'FlightRoll', 'AircraftRollDegree', 'AircraftRoll', 'DroneRollDegree', 'DroneRoll'],
  // Aircraft axes of the ground frame: x north, y east, z down.
  speedNorth: [
    'FlightXSpeed',
    'SpeedNorth',
    'VelocityNorth',
    'FlightSpeedX',
    'VelocityX',
    'XVelocity',
    'SpeedX',
    'XSpeed',
  ],
  speedEast: [
    'FlightYSpeed',
    'SpeedEast',
    'VelocityEast',
    'FlightSpeedY',
    'VelocityY',
    'YVelocity',
    'SpeedY',
    'YSpeed',
  ],
  speedDown: [
    'FlightZSpeed',
    'SpeedDown',
    'VelocityDown',
    'FlightSpeedZ',
    'VelocityZ',
    'ZVelocity',
    'SpeedZ',
    'ZSpeed',
  ],
} as const satisfies Record<keyof Attitude, readonly string[]>

const LARGEST: Readonly<Record<keyof Attitude, number>> = {
  relativeHeightMetres: 20_000,
  gimbalPitch: 360,
  gimbalYaw: 360,
  gimbalRoll: 360,
  flightYaw: 360,
  flightPitch: 360,
  flightRoll: 360,
  speedNorth: 200,
  speedEast: 200,
  speedDown: 200,
}

/** Written as "+40.10", "-0.5", "1003/10"; a unit may follow ("39.9 m"). Anything else is null. */
export function xmpNumber(text: string | undefined): number | null {
  const found = /^([+-]?\d+(?:\.\d*)?|[+-]?\.\d+)(?:\/(\d+))?(?:\s*[a-zA-Z°/]+)?$/.exec(text ?? '')
  if (found === null) return null
  const value = Number(found[1]) / Number(found[2] ?? 1)
  return Number.isFinite(value) ? value : null
}

function firstNumber(xmp: XmpProperties, names: readonly string[], largest: number): number | null {
  for (const name of names) {
    const value = xmpNumber(xmp.get(name))
    if (value !== null && Math.abs(value) <= largest) return value === 0 ? 0 : value
  }
  return null
}

/** The aircraft's attitude in an XMP packet; null when it says nothing of it. */
export function attitudeFrom(xmp: XmpProperties): Attitude | null {
  const keys = Object.keys(NAMES) as (keyof Attitude)[]
  const facts = Object.fromEntries(keys.map((key) => [key, firstNumber(xmp, NAMES[key], LARGEST[key])]))
  const attitude = facts as unknown as Attitude
  return keys.some((key) => attitude[key] !== null) ? attitude : null
}

/** A position in decimal degrees, for files whose Exif has none; 0, 0 is "no fix". */
export function positionFrom(xmp: XmpProperties): Position | null {
  const latitude = firstNumber(xmp, ['GpsLatitude', 'GPSLatitude', 'Latitude'], 90)
  // The misspelling is one that aircraft write.
  const longitude = firstNumber(xmp, ['GpsLongitude', 'GpsLongtitude', 'GPSLongitude', 'Longitude'], 180)
  if (latitude === null || longitude === null || (latitude === 0 && longitude === 0)) return null
  return { latitude, longitude, altitudeMetres: firstNumber(xmp, ['AbsoluteAltitude', 'GpsAltitude'], 100_000) }
}
