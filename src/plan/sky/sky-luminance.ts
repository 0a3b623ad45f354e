import type { Direction } from './bodies.ts'
import { DARK_SKY_MAGNITUDES, luminanceOfMagnitude, sunLux } from './illuminance.ts'
import { moonlitLuminance } from './moonlit-sky.ts'
import { apparentAltitude } from './refraction.ts'

/**
 * Luminance of the clear sky by direction, cd/m².
 *
 * The twilight sky is not even: the glow stands over the sun's place. The zenith follows Patat, Ugolnikov, Postylyakov
 * 2006, V = 11.84 + 1.518 (ζ−95) − 0.057 (ζ−95)² magnitudes a square arcsecond for a sun 95 to 105° from the zenith. It
 * is taken as a share of what an even sky of the same light on the ground would have, E/π: about a half at ζ = 96°. With a
 * higher sun the share is 0.6, a clear sky's usual value; toward night it goes back to 1, where airglow is nearly even.
 * Around the zenith, the same share spreads by a form of ours: brighter toward the horizon, brightest over the sun, scaled so
 * that the whole dome gives the model's light on level ground.
 *
 * Stated error: a factor of two (one stop) in any one direction, half a stop at the zenith. Cloud is not in it.
 */
const radians = (degrees: number) => (degrees * Math.PI) / 180
const clamp = (value: number, low: number, high: number) => Math.min(high, Math.max(low, value))

/** Zenith luminance by the cited fit, cd/m², for a sun `depression` degrees below the horizon (5 to 15). */
export function zenithByPatat(depression: number): number {
  const z = clamp(depression, 5, 15) - 5
  return luminanceOfMagnitude(11.84 + 1.518 * z - 0.057 * z ** 2)
}

const HIGH_SUN_SHARE = 0.6

/** Zenith luminance over E/π; smooth in the sun's altitude, between 0.25 and 1. */
export function zenithShare(sunAltitude: number): number {
  const depression = -sunAltitude
  if (depression <= 2) return HIGH_SUN_SHARE
  if (depression >= 16) return 1
  const fitted = (d: number) => clamp((zenithByPatat(d) * Math.PI) / sunLux('C', -d), 0.25, 1)
  if (depression < 5) return mix(HIGH_SUN_SHARE, fitted(5), (depression - 2) / 3)
  // From −9° on the fit and the model of the light part: the night sky's own light takes over.
  if (depression > 9) return mix(fitted(9), 1, (depression - 9) / 7)
  return fitted(depression)
}

const mix = (a: number, b: number, share: number) => a + (b - a) * share * share * (3 - 2 * share)

/** Without scale: 1 at the zenith, more toward the horizon and toward the sun's azimuth. */
function form(altitude: number, fromSunAzimuth: number, glow: number): number {
  // Zenith distance as a share: 0 overhead, 1 at the horizon.
  const low = 1 - clamp(altitude, 0, 90) / 90
  const toward = Math.exp(-(1 - Math.cos(radians(fromSunAzimuth))) / 0.9)
  return 1 + low ** 2 * (0.5 + glow * toward)
}

/** How much the glow over the sun exceeds the zenith: strongest a few degrees after sunset, gone at night. */
const glowOf = (sunAltitude: number): number => {
  const depression = clamp(-sunAltitude, 0, 18)
  return 7 * Math.exp(-(((depression - 6) / 5) ** 2))
}

/** Mean of the form over the dome as the ground receives it, relative to an even sky; by the sum over 12 × 24 patches. */
function domeMean(glow: number): number {
  let [sum, weights] = [0, 0]
  for (let i = 0; i < 12; i++) {
    const altitude = 7.5 * (i + 0.5)
    const weight = Math.sin(radians(altitude)) * Math.cos(radians(altitude))
    for (let j = 0; j < 24; j++) {
      sum += weight * form(altitude, 15 * (j + 0.5), glow)
      weights += weight
    }
  }
  return sum / weights
}

const domeMeans = new Map<number, number>()
/** By hundredths of the glow: the sum is the dearest part of a minute. */
function knownDomeMean(glow: number): number {
  const key = Math.round(100 * glow)
  const known = domeMeans.get(key)
  if (known !== undefined) return known
  const mean = domeMean(key / 100)
  domeMeans.set(key, mean)
  return mean
}

export interface SkyView {
  readonly sun: Direction
  readonly moon: Direction & { readonly elongation: number }
  /** Brightness of the zenith at night without a moon, magnitudes a square arcsecond; null for a dark sky. */
  readonly skyglowMagnitudes: number | null
  /** What cloud divides the light by, 1 for clear. */
  readonly cloudDivisor: number
}

/** cd/m² of the sky in a direction; below the horizon as at the horizon. */
export function skyLuminance(view: SkyView, look: Direction): number {
  const { sun, moon, skyglowMagnitudes, cloudDivisor } = view
  const share = zenithShare(sun.altitude)
  const glow = glowOf(sun.altitude)
  const even = sunLux('C', apparentAltitude(sun.altitude)) / Math.PI
  // The form's zenith is the cited zenith; its rise toward the horizon is scaled so that the dome's light is the model's.
  const mean = knownDomeMean(glow)
  const rise = mean > 1 ? Math.max(0, (1 / share - 1) / (mean - 1)) : 0
  const shape = 1 + (form(look.altitude, Math.abs(look.azimuth - sun.azimuth), glow) - 1) * rise
  const twilight = (even * share * shape) / cloudDivisor
  const moonlight =
    moon.altitude > 0
      ? moonlitLuminance({
          zenithDistance: 90 - clamp(look.altitude, 0, 90),
          moonZenithDistance: 90 - moon.altitude,
          separation: separation(look, moon),
          phaseAngle: 180 - moon.elongation,
        }) / cloudDivisor
      : 0
  const skyglow =
    skyglowMagnitudes === null
      ? 0
      : Math.max(0, luminanceOfMagnitude(skyglowMagnitudes) - luminanceOfMagnitude(DARK_SKY_MAGNITUDES))
  return twilight + moonlight + skyglow
}

/** Degrees between two directions. */
export function separation(a: Direction, b: Direction): number {
  const cosine =
    Math.sin(radians(a.altitude)) * Math.sin(radians(b.altitude)) +
    Math.cos(radians(a.altitude)) * Math.cos(radians(b.altitude)) * Math.cos(radians(a.azimuth - b.azimuth))
  return (Math.acos(clamp(cosine, -1, 1)) * 180) / Math.PI
}
