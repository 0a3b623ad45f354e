/**
 * The moonlit sky of Krisciunas, Schaefer 1991 (PASP 103, 1033): luminance that the moon adds, as it scatters in clear air.
 * The authors claim 8 to 23 %; nearer to the moon than 10° the form of the scattering is not theirs.
 */
const radians = (degrees: number) => (degrees * Math.PI) / 180

/** 1 nL in cd/m². */
const NANOLAMBERT = 3.183_1e-6

/** Extinction of clear air, magnitudes an air mass; the paper's own value for a high site. */
export const EXTINCTION = 0.172

/** Air mass at a zenith distance in degrees (eq. 3): stays finite at the horizon. */
const airMass = (zenithDistance: number): number => (1 - 0.96 * Math.sin(radians(zenithDistance)) ** 2) ** -0.5

export interface MoonlitSky {
  /** Degrees from the zenith, of where one looks and of the moon. */
  readonly zenithDistance: number
  readonly moonZenithDistance: number
  /** Degrees between them. */
  readonly separation: number
  /** Phase angle of the moon, 0 full to 180 new. */
  readonly phaseAngle: number
  readonly extinction?: number
}

/** Luminance that the moon adds to the sky, nanolambert (eq. 8, 9, 15, 21). */
export function moonlitNanolamberts(sky: MoonlitSky): number {
  const { zenithDistance, moonZenithDistance, separation, phaseAngle, extinction = EXTINCTION } = sky
  const alpha = Math.abs(phaseAngle)
  const magnitude = -12.73 + 0.026 * alpha + 4e-9 * alpha ** 4
  const outside = 10 ** (-0.4 * (magnitude + 16.57))
  const rayleigh = 10 ** 5.36 * (1.06 + Math.cos(radians(separation)) ** 2)
  // Closer than 10° the paper gives 6.2e7/ρ² (from memory); not nearer than the disc itself.
  const mie = separation > 10 ? 10 ** (6.15 - separation / 40) : 6.2e7 / Math.max(separation, 0.25) ** 2
  const lost = (mass: number) => 10 ** (-0.4 * extinction * mass)
  return (rayleigh + mie) * outside * lost(airMass(moonZenithDistance)) * (1 - lost(airMass(zenithDistance)))
}

/** The same in cd/m². */
export const moonlitLuminance = (sky: MoonlitSky): number => NANOLAMBERT * moonlitNanolamberts(sky)

/** Magnitudes a square arcsecond of a luminance in nanolambert (Garstang 1986). */
export const magnitudesOfNanolamberts = (nanolamberts: number): number =>
  (20.7233 - Math.log(nanolamberts / 34.08)) / 0.921_04
