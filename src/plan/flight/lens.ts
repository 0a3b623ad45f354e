import { Failure } from '#core/base'

/** One camera mode seen as a pinhole: sensor area in use, its pixels, the real (not "equivalent") focal length. */
export interface CameraGeometry {
  readonly sensorWidthMillimetres: number
  readonly sensorHeightMillimetres: number
  readonly widthPixels: number
  readonly heightPixels: number
  readonly focalLengthMillimetres: number
}

/** What follows from the geometry alone. Angles are full angles, in degrees. */
export interface Lens {
  readonly widthPixels: number
  readonly heightPixels: number
  /** Focal length over pixel pitch, across: pixels a radian at the picture's centre. */
  readonly focalPixels: number
  /** The same down the picture; differs from `focalPixels` by no more than the rounding of the sensor's sides. */
  readonly focalPixelsDown: number
  readonly pitchMicrometres: number
  readonly fieldAcrossDegrees: number
  readonly fieldDownDegrees: number
  readonly fieldDiagonalDegrees: number
}

/** Makers print sensor sides to a tenth of a millimetre: pitches across and down may differ by that much, and no more. */
const PITCH_TOLERANCE = 0.02

/**
 * The lens of a camera: field = 2·atan(side/2f), focal pixels = f/pitch (common practice; a pinhole without distortion, principal
 * point in the middle). `camera-fact-unusable` when a side, count or focal length is not positive or out of all proportion;
 * `camera-contradictory` when pitch across and down differ by over 2 %: sides of one mode, pixels of another.
 */
export function lensOf(camera: CameraGeometry): Lens {
  const { sensorWidthMillimetres: w, sensorHeightMillimetres: h, focalLengthMillimetres: f } = camera
  const { widthPixels, heightPixels } = camera
  const facts: [fact: keyof CameraGeometry, most: number][] = [
    ['sensorWidthMillimetres', 200],
    ['sensorHeightMillimetres', 200],
    ['widthPixels', 100_000],
    ['heightPixels', 100_000],
    ['focalLengthMillimetres', 2000],
  ]
  for (const [fact, most] of facts) {
    const value = camera[fact]
    if (!(value > 0 && value <= most)) throw new Failure('usage', 'camera-fact-unusable', { fact, value, most })
  }
  const across = w / widthPixels
  const down = h / heightPixels
  if (Math.abs(across / down - 1) > PITCH_TOLERANCE) {
    const [pitchAcross, pitchDown] = [across * 1000, down * 1000].map((um) => Number(um.toPrecision(4)))
    throw new Failure('usage', 'camera-contradictory', { pitchAcross: pitchAcross!, pitchDown: pitchDown! })
  }
  const field = (side: number) => (360 / Math.PI) * Math.atan(side / (2 * f))
  return {
    widthPixels,
    heightPixels,
    focalPixels: f / across,
    focalPixelsDown: f / down,
    pitchMicrometres: across * 1000,
    fieldAcrossDegrees: field(w),
    fieldDownDegrees: field(h),
    fieldDiagonalDegrees: field(Math.hypot(w, h)),
  }
}
