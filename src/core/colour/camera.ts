import { apply3, diagonal3, identity3, invert3, type Matrix3, multiply3, type Triple } from '#core/base'
import { adaptWhite } from './adapt.ts'
import { lightSourceKelvin } from './illuminant.ts'
import { xyzD50ToSrgb } from './primaries.ts'
import { temperatureOf } from './temperature.ts'
import { type Chromaticity, white, whiteD50, xyFromXyz, xyzFromXy } from './white.ts'

/**
 * The colour calibration of a raw file. Matrices in row order as the file has them (rows = planes for ColorMatrix);
 * camera calibrations belong here only when their signature matches the profile's (DNG 1.6, CameraCalibrationSignature).
 */
export interface ColourCalibration {
  readonly illuminant1: number | null
  readonly illuminant2: number | null
  readonly colorMatrix1: readonly number[] | null
  readonly colorMatrix2: readonly number[] | null
  readonly forwardMatrix1: readonly number[] | null
  readonly forwardMatrix2: readonly number[] | null
  readonly cameraCalibration1: readonly number[] | null
  readonly cameraCalibration2: readonly number[] | null
  readonly analogBalance: readonly number[] | null
  /** Camera coordinates of neutral, largest 1 not required; null when the file gives none. */
  readonly asShotNeutral: readonly number[] | null
  /** The chromaticity x, y of white, when the file gives that instead. */
  readonly asShotWhiteXY: readonly number[] | null
}

/** Where white came from: given by the caller, the file's neutral or chromaticity, or D55 for want of both. */
export type WhiteSource = 'given' | 'file-neutral' | 'file-chromaticity' | 'assumed-d55'

/**
 * How camera values become colours. Camera space is linear raw over the white level, before white balance. The matrices
 * send `neutral` to white: XYZ of D50 with Y = 1, and linear sRGB (1, 1, 1).
 */
export interface CameraColour {
  /** Camera coordinates of white, largest 1, each at least 0.001; white-balance gains are its reciprocals. */
  readonly neutral: Triple
  readonly xy: Chromaticity
  /** Kelvin, as DNG readers give it. */
  readonly cct: number
  /** As in `Temperature`; positive: light greener than a Planckian radiator. */
  readonly tint: number
  readonly cameraToXyzD50: Matrix3
  readonly cameraToLinearSrgb: Matrix3
  readonly basis: 'forward-matrix' | 'colour-matrix'
  readonly whiteSource: WhiteSource
  /** Passes of the neutral → chromaticity iteration; 0 when the chromaticity was given. */
  readonly passes: number
}

const MAX_PASSES = 30
const SETTLED = 1e-7

/**
 * The camera's colours by DNG 1.6 chapter 6 and its reference code: XYZ → camera is AB·CC·CM, calibrations blended by
 * reciprocal temperature; chromaticity from the neutral by iteration; forward matrices preferred, else Bradford from
 * white to D50. `neutral` overrides the file's own. Null when the file has no usable three-plane colour matrix: the
 * fallback then is `neutralGainsOnly`, which balances white and leaves the camera's own primaries standing for sRGB's.
 */
export function cameraToLinearSrgb(calibration: ColourCalibration, neutral?: readonly number[]): CameraColour | null {
  const blend = blendedCalibration(calibration)
  if (!blend) return null
  const found = findWhite(calibration, blend, neutral)
  if (!found) return null

  const { xy, passes, whiteSource } = found
  const at = blend(xy)
  const seen = apply3(at.xyzToCamera, xyzFromXy(xy))
  if (!(Math.max(...seen) > 0)) return null
  const camera = cameraWhite(seen)
  const matrix = at.forward ? throughForward(at, camera) : throughBradford(at, xy)
  if (!matrix) return null
  const toSrgb = multiply3(xyzD50ToSrgb, matrix)
  // Numbers at the edge of what a float holds pass every test before this one.
  if (![...matrix, ...toSrgb, ...camera].every(Number.isFinite)) return null
  const { kelvin, tint } = temperatureOf(xy, 'as-dng-readers')
  return {
    neutral: camera,
    xy,
    cct: kelvin,
    tint,
    cameraToXyzD50: matrix,
    cameraToLinearSrgb: toSrgb,
    basis: at.forward ? 'forward-matrix' : 'colour-matrix',
    whiteSource,
    passes,
  }
}

/**
 * White balance without colour: the diagonal matrix that sends the neutral (scaled to largest 1) to (1, 1, 1). The
 * identity when no neutral is known. Colours are then the camera's own and must be labelled so.
 */
export function neutralGainsOnly(calibration: ColourCalibration, neutral?: readonly number[]): Matrix3 {
  const given = tripleOf(neutral ?? calibration.asShotNeutral)
  if (!given) return identity3
  const [r, g, b] = cameraWhite(given)
  return diagonal3([1 / r, 1 / g, 1 / b])
}

interface Calibrated {
  readonly xyzToCamera: Matrix3
  /** Individual camera → reference camera: (AB·CC)⁻¹. */
  readonly toReference: Matrix3
  readonly forward: Matrix3 | null
}

type Blend = (xy: Chromaticity) => Calibrated

function blendedCalibration(c: ColourCalibration): Blend | null {
  const color1 = colorMatrix(c.colorMatrix1)
  const color2 = colorMatrix(c.colorMatrix2)
  const only = color1 ?? color2
  if (!only) return null
  const balance = tripleOf(c.analogBalance)
  const analog = balance ? diagonal3(balance) : identity3
  const individual1 = matrixOf(c.cameraCalibration1) ?? identity3
  const individual2 = matrixOf(c.cameraCalibration2) ?? identity3
  const forward1 = forwardMatrix(c.forwardMatrix1)
  const forward2 = forwardMatrix(c.forwardMatrix2)
  const kelvin1 = lightSourceKelvin(c.illuminant1)
  const kelvin2 = lightSourceKelvin(c.illuminant2)

  const combine = (color: Matrix3, individual: Matrix3, forward: Matrix3 | null): Calibrated | null => {
    const toIndividual = multiply3(analog, individual)
    const toReference = invert3(toIndividual)
    return toReference && { xyzToCamera: multiply3(toIndividual, color), toReference, forward }
  }
  const two = color1 && color2 && kelvin1 !== null && kelvin2 !== null && kelvin1 !== kelvin2
  const first = combine(
    only,
    color1 ? individual1 : individual2,
    (color1 ? forward1 : forward2) ?? forward1 ?? forward2,
  )
  if (!first) return null
  if (!two) return () => first
  return (xy) => {
    const g = firstShare(temperatureOf(xy, 'as-dng-readers').kelvin, kelvin1, kelvin2)
    const forward = forward1 && forward2 ? mixed(forward1, forward2, g) : (forward1 ?? forward2)
    return combine(mixed(color1, color2, g), mixed(individual1, individual2, g), forward) ?? first
  }
}

/** The first calibration's weight: linear in 1/T, clamped to 0..1. */
function firstShare(kelvin: number, kelvin1: number, kelvin2: number): number {
  const g = (1 / kelvin - 1 / kelvin2) / (1 / kelvin1 - 1 / kelvin2)
  return Math.min(Math.max(g, 0), 1)
}

function findWhite(c: ColourCalibration, blend: Blend, neutral?: readonly number[]) {
  const given = tripleOf(neutral ?? null)
  const own = given ?? tripleOf(c.asShotNeutral)
  if (own) {
    const found = chromaticityOfNeutral(own, blend)
    return found && { ...found, whiteSource: given ? ('given' as const) : ('file-neutral' as const) }
  }
  const [x, y] = c.asShotWhiteXY ?? []
  if (x !== undefined && y !== undefined && x > 0 && y > 0 && x + y < 1)
    return { xy: [x, y] as Chromaticity, passes: 0, whiteSource: 'file-chromaticity' as const }
  return { xy: white.D55 as Chromaticity, passes: 0, whiteSource: 'assumed-d55' as const }
}

/** From D50, apply the inverse of the matrix that the last chromaticity selects; the two last are averaged if it swings. */
function chromaticityOfNeutral(neutral: Triple, blend: Blend): { xy: Chromaticity; passes: number } | null {
  let xy: Chromaticity = white.D50
  for (let pass = 1; ; pass++) {
    const toXyz = invert3(blend(xy).xyzToCamera)
    if (!toXyz) return null
    let next = xyFromXyz(apply3(toXyz, neutral))
    if (!(next[0] > 0 && next[1] > 0)) return null
    const settled = Math.abs(next[0] - xy[0]) + Math.abs(next[1] - xy[1]) < SETTLED
    if (pass === MAX_PASSES && !settled) next = [(xy[0] + next[0]) / 2, (xy[1] + next[1]) / 2]
    xy = next
    if (settled || pass === MAX_PASSES) return { xy, passes: pass }
  }
}

function throughForward({ forward, toReference }: Calibrated, camera: Triple): Matrix3 | null {
  const balance = invert3(diagonal3(apply3(toReference, camera)))
  return balance && multiply3(forward as Matrix3, multiply3(balance, toReference))
}

function throughBradford({ xyzToCamera }: Calibrated, xy: Chromaticity): Matrix3 | null {
  const fromD50 = multiply3(xyzToCamera, adaptWhite(white.D50, xy))
  const largest = Math.max(...apply3(fromD50, whiteD50))
  const inverted = invert3(fromD50)
  return inverted && largest > 0 ? scaled(inverted, largest) : null
}

/** Largest 1, none below 0.001: a plane that hardly sees white must not get an endless gain. */
function cameraWhite(raw: Triple): Triple {
  const largest = Math.max(...raw)
  const pin = (v: number) => Math.min(Math.max(v / largest, 0.001), 1)
  return [pin(raw[0]), pin(raw[1]), pin(raw[2])]
}

const scaled = (m: Matrix3, s: number) => m.map((v) => v * s) as unknown as Matrix3
const mixed = (a: Matrix3, b: Matrix3, g: number) => a.map((v, i) => v * g + b[i]! * (1 - g)) as unknown as Matrix3

function matrixOf(values: readonly number[] | null): Matrix3 | null {
  return values?.length === 9 && values.every(Number.isFinite) ? (values as unknown as Matrix3) : null
}

function tripleOf(values: readonly number[] | null | undefined): Triple | null {
  return values?.length === 3 && values.every((v) => Number.isFinite(v) && v > 0) ? (values as unknown as Triple) : null
}

/** A colour matrix brought to the scale at which D50 reads 1 in its largest plane, so that two of unlike scale blend evenly. */
function colorMatrix(values: readonly number[] | null): Matrix3 | null {
  const m = matrixOf(values)
  if (!m || !invert3(m)) return null
  const largest = Math.max(...apply3(m, whiteD50))
  if (!(largest > 1e-9)) return null
  return largest < 0.99 || largest > 1.01 ? scaled(m, 1 / largest) : m
}

/** A forward matrix with its rows scaled so that (1, 1, 1) gives D50 exactly; null when a row sums to nothing. */
function forwardMatrix(values: readonly number[] | null): Matrix3 | null {
  const m = matrixOf(values)
  if (!m) return null
  const sums = apply3(m, [1, 1, 1])
  if (sums.some((s) => !(s > 0))) return null
  return multiply3(diagonal3([whiteD50[0] / sums[0], whiteD50[1] / sums[1], whiteD50[2] / sums[2]]), m)
}
