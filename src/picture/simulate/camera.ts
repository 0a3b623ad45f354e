import { diagonal3, invert3, type Matrix3, multiply3, type Triple } from '#core/base'
import { adaptWhite, cameraToLinearSrgb, srgbToXyzD50, white } from '#core/colour'
import type { ColourToWrite } from '#core/formats'
import type { CfaPattern } from '#core/pixels'

/** A sensor as a photon counter: linear up to its full well, with Gaussian read noise, then rounded to a code. */
export interface Sensor {
  readonly bitsPerSample: number
  /** Stored value without light, one for each site of the 2×2 pattern, row order. */
  readonly black: readonly [number, number, number, number]
  /** Stored value at saturation. */
  readonly white: number
  /** Electrons at saturation. */
  readonly fullWellElectrons: number
  /** Standard deviation of the read noise. */
  readonly readNoiseElectrons: number
  readonly cfa: CfaPattern
}

/** Variance = scale·x + offset, x = 1 at saturation: scale 1/F, offset (r/F)² for full well F and read noise r. */
export const noiseOf = (s: Sensor) => ({
  scale: 1 / s.fullWellElectrons,
  offset: (s.readNoiseElectrons / s.fullWellElectrons) ** 2,
})

/** A camera that does not exist. The sensor has the figures of a small one: 6000 e⁻, 1.8 e⁻, 12 bits. */
export const lantern = {
  make: 'Weirside',
  model: 'Lantern 12',
  fNumber: 1.8,
  focalLengthMillimetres: 6.72,
  iso: 100,
  sensor: {
    bitsPerSample: 12,
    black: [256, 256, 256, 256],
    white: 4095,
    fullWellElectrons: 6000,
    readNoiseElectrons: 1.8,
    cfa: [0, 1, 1, 2],
  } satisfies Sensor as Sensor,
} as const

/**
 * What the camera's filters make of linear sRGB light, after white balance: each row sums to 1, and no share is
 * negative, so that every colour of sRGB gives positive raw values.
 */
const filters: Matrix3 = [0.66, 0.27, 0.07, 0.17, 0.68, 0.15, 0.05, 0.22, 0.73]

/** The camera's answer to white under lamp light (illuminant A) and under daylight (D65), and the night's compromise. */
const neutralA: Triple = [0.78, 1, 0.36]
const neutralD65: Triple = [0.46, 1, 0.66]
const neutralNight: Triple = [0.58, 1, 0.54]

const roundedTo = (m: Matrix3, d: number) => m.map((v) => Math.round(v * d) / d) as unknown as Matrix3
const inverse = (m: Matrix3) => invert3(m)!

/** The calibration as a file states it: one forward matrix for both lights, and the colour matrices that agree with it. */
export const lanternColour: ColourToWrite & { readonly asShotNeutral: Triple } = (() => {
  const forward = roundedTo(multiply3(srgbToXyzD50, inverse(filters)), 10_000)
  const colour = (neutral: Triple, light: 'A' | 'D65') =>
    multiply3(diagonal3(neutral), multiply3(inverse(forward), adaptWhite(white[light], white.D50)))
  return {
    illuminant1: 17,
    illuminant2: 21,
    colorMatrix1: roundedTo(colour(neutralA, 'A'), 10_000),
    colorMatrix2: roundedTo(colour(neutralD65, 'D65'), 10_000),
    forwardMatrix1: forward,
    forwardMatrix2: forward,
    asShotNeutral: neutralNight,
  }
})()

/** Camera (raw over white) → linear sRGB by the colour chain that every reader of the file follows; and back. */
export function lanternMatrices(): { readonly toLinearSrgb: Matrix3; readonly fromLinearSrgb: Matrix3 } {
  const nothing = { cameraCalibration1: null, cameraCalibration2: null, analogBalance: null, asShotWhiteXY: null }
  const { illuminant2, colorMatrix2, forwardMatrix1, forwardMatrix2, ...rest } = lanternColour
  const chain = cameraToLinearSrgb({
    ...rest,
    ...nothing,
    illuminant2: illuminant2 ?? null,
    colorMatrix2: colorMatrix2 ?? null,
    forwardMatrix1: forwardMatrix1 ?? null,
    forwardMatrix2: forwardMatrix2 ?? null,
  })
  const toLinearSrgb = chain!.cameraToLinearSrgb
  return { toLinearSrgb, fromLinearSrgb: inverse(toLinearSrgb) }
}
