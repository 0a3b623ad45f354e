import { apparentAltitude } from './refraction.ts'

/**
 * Light on level ground from a clear sky, lux, by three published models of the sun's and the moon's light. They agree
 * to a sixth by day and in early twilight, to a quarter at −2 to −5°, and differ by a factor of two at −12°. Real skies
 * differ more: the authors of A warn of factors up to ten.
 *
 * A  Janiczek, DeYoung 1987 (USNO Circular 171), closed form; nothing of the night sky in it.
 * B  Polynomials of the Explanatory Supplement to the Astronomical Almanac (1992, ch. 9); −18 to 90°.
 * C  USNO's Chebyshev fit of degree 24 to Brown 1952; −20 to 90°.
 *
 * B and C were fitted to measured skies and contain starlight and airglow: no floor is added to them. The polynomials are
 * often credited to Circular 171, which does not hold them.
 */
export type LightModel = 'A' | 'B' | 'C'

const radians = (degrees: number) => (degrees * Math.PI) / 180

/** Air mass and the share of light from the sky in model A; altitude in degrees, seen through the air. */
function circularLight(altitude: number): number {
  const x = 753.661_56
  const sine = Math.sin(radians(altitude))
  const s = Math.asin((x * Math.cos(radians(altitude))) / (x + 1))
  const m = x * (Math.cos(s) - sine) + Math.cos(s)
  return Math.exp(-0.21 * m) * sine + 0.0289 * Math.exp(-0.042 * m) * (1 + ((altitude + 90) * sine) / 57.295_779_51)
}

type Piece = readonly [from: number, l0: number, l1: number, l2: number, l3: number]

/** log₁₀ lux = l0 + l1 x + l2 x² + l3 x³, x = altitude/90; pieces from their lower ends, highest first. */
const sunPieces: readonly Piece[] = [
  [20, 3.74, 3.97, -4.07, 1.47],
  [5, 3.05, 13.28, -45.98, 64.33],
  [-0.8, 2.88, 22.26, -207.64, 1034.3],
  [-5, 2.88, 21.81, -258.11, -858.36],
  [-12, 2.7, 12.17, -431.69, -1899.83],
  [-18, 13.84, 262.72, 1447.42, 2797.93],
]

const moonPieces: readonly Piece[] = [
  [20, -1.95, 4.06, -4.24, 1.56],
  [5, -2.58, 12.58, -42.58, 59.06],
  [-0.8, -2.79, 24.27, -252.95, 1321.29],
]

function byPieces(pieces: readonly Piece[], altitude: number): number {
  const [, l0, l1, l2, l3] = pieces.find(([from]) => altitude > from) ?? pieces.at(-1)!
  const x = altitude / 90
  return l0 + x * (l1 + x * (l2 + x * l3))
}

const chebyshev = [
  2.936506136978837, 3.62732632756649, -2.233214447344062, 1.015115465301055, -0.1898083125016442, -0.2620601965183225,
  0.3829581829851666, -0.2879683995474197, 0.1134487130232542, 0.03092492471913735, -0.09853820413978147,
  0.08976982948378892, -0.04151839367722814, -0.005982465090666525, 0.02913731978265127, -0.02832367750489338,
  0.01326901081959582, 0.003365892788214903, -0.01123578761200569, 0.009862218049840636, -0.003690281457418281,
  -0.001338196406378107, 0.005060420921563732, -0.003079727252974708, 0.002969002584378676,
] as const

/** log₁₀ lux of model C by Clenshaw's recurrence. */
function byChebyshev(altitude: number): number {
  const s = (altitude - 35) / 55
  let [b1, b2] = [0, 0]
  for (let k = chebyshev.length - 1; k > 0; k--) [b1, b2] = [chebyshev[k]! + 2 * s * b1 - b2, b1]
  return chebyshev[0]! + s * b1 - b2
}

/** Lowest sun that each model was made for; degrees. */
export const LOWEST: Readonly<Record<LightModel, number>> = { A: -12, B: -18, C: -20 }

/**
 * Clear-sky light of the sun on level ground, lux. `altitude`: of the centre, with the air's refraction while it is up.
 * Below the model's range the value at its end: the night sky of B and C stays, A has long fallen to nothing.
 */
export function sunLux(model: LightModel, altitude: number): number {
  if (model === 'A') return 133_775 * circularLight(Math.max(altitude, -18))
  if (model === 'B') return 10 ** byPieces(sunPieces, Math.max(altitude, -18))
  return 10 ** byChebyshev(Math.max(altitude, -20))
}

/** Share of the full moon's light at an elongation (0 new, 180 full), models A and C. */
function phaseShare(elongation: number): number {
  const e = radians(elongation)
  if (e <= 0) return 0
  return 0.892 * Math.exp(-3.343 / Math.tan(e / 2) ** 0.632) + 0.0344 * (Math.sin(e) - e * Math.cos(e))
}

export interface MoonLight {
  /** Degrees, seen through the air. */
  readonly altitude: number
  /** Degrees from the sun, 0 new to 180 full. */
  readonly elongation: number
  /** Horizontal parallax, degrees: the nearer, the brighter. */
  readonly parallax: number
}

const MEAN_PARALLAX = 0.951

/** Clear-sky light of the moon on level ground, lux; none once it has set. */
export function moonLux(model: LightModel, { altitude, elongation, parallax }: MoonLight): number {
  if (altitude < -0.833) return 0
  if (model === 'A') {
    const e = radians(elongation)
    const share = (0.418 * phaseShare(elongation)) / (1 - 0.005 * Math.cos(e) - 0.03 * Math.sin(radians(altitude)))
    return share * circularLight(altitude)
  }
  const near = 2 * Math.log10(parallax / MEAN_PARALLAX)
  if (model === 'B') {
    const f = 180 - elongation
    return 10 ** (byPieces(moonPieces, Math.max(altitude, -0.8)) - 8.68e-3 * f - 2.2e-9 * f ** 4 + near)
  }
  return 10 ** (byChebyshev(altitude) + near) * 3.277e-6 * phaseShare(elongation)
}

/** Models A's floor of starlight and airglow, lux; B and C have their own. */
const CIRCULAR_FLOOR = 0.0005

/** Cloud as the Circular's programs divide light by: clear up to 70 % cover, thin, average, dark stratus. */
export const cloudDivisors = { clear: 1, thin: 2, average: 3, dark: 10 } as const
export type Cloud = keyof typeof cloudDivisors

export interface SkyState {
  /** Degrees, centre, without air. */
  readonly sunAltitude: number
  readonly moon: { readonly altitude: number; readonly elongation: number; readonly parallax: number }
  readonly cloud: Cloud
  /** Lux on level ground from the glow of lamps over the place; 0 for none. */
  readonly skyglowLux: number
}

export interface NaturalLight {
  /** Lux on level ground by model C. */
  readonly lux: number
  /** The least and the greatest of the models that are valid there. */
  readonly luxLow: number
  readonly luxHigh: number
}

/** Used for every number that is not said to be of another: measured skies, one smooth curve, valid to −20°. */
export const DEFAULT_MODEL: LightModel = 'C'

/** Sun, moon, cloud and skyglow together. The night's own light is counted once: it is in the sun's part of B and C. */
export function naturalLight({ sunAltitude, moon, cloud, skyglowLux }: SkyState): NaturalLight {
  const divisor = cloudDivisors[cloud]
  const sun = apparentAltitude(sunAltitude)
  const moonSeen = { ...moon, altitude: apparentAltitude(moon.altitude) }
  const by = (model: LightModel) => {
    const floor = model === 'A' ? CIRCULAR_FLOOR : 0
    return (sunLux(model, sun) + moonLux(model, moonSeen) + floor) / divisor + skyglowLux
  }
  const lux = by(DEFAULT_MODEL)
  const valid = (['A', 'B', 'C'] as const).filter((m) => m !== 'A' || sun >= LOWEST.A).map(by)
  return { lux, luxLow: Math.min(...valid), luxHigh: Math.max(...valid) }
}

/** Sky brightness in magnitudes a square arcsecond to cd/m²: 10.8·10⁴ · 10^(−0.4 m) (common practice). */
export const luminanceOfMagnitude = (magnitudes: number): number => 10.8e4 * 10 ** (-0.4 * magnitudes)

/** A dark sky: 21.6 magnitudes at the zenith, which the models' own night light stands for. */
export const DARK_SKY_MAGNITUDES = 21.6

/**
 * Lux on level ground from skyglow of a zenith brightness beyond the dark sky's: an even sky of luminance L gives π·L.
 * Over towns the horizon is brighter than the zenith, so that this is a low estimate, by up to a factor of two.
 */
export const skyglowLux = (zenithMagnitudes: number | null): number =>
  zenithMagnitudes === null
    ? 0
    : Math.PI * Math.max(0, luminanceOfMagnitude(zenithMagnitudes) - luminanceOfMagnitude(DARK_SKY_MAGNITUDES))
