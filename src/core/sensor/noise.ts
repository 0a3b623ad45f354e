/**
 * Noise of one linear sample: variance = scale·x + offset, x = signal over black, 1 at white (DNG 1.6, NoiseProfile).
 * `scale` is the shot noise (1 / full well in electrons), `offset` the read noise squared with the quantisation in it.
 * White noise only: fixed pattern, photo-response non-uniformity and banding are not in it.
 */
export interface NoiseTerm {
  readonly scale: number
  readonly offset: number
}

/** The same in electrons: what fills the well to x = 1, and the noise of a sample without light. */
export interface SensorElectrons {
  readonly fullWellElectrons: number
  readonly readNoiseElectrons: number
}

/** Variance at signal x. A sample below black has read noise only: its mean light is not negative. */
export const varianceAt = ({ scale, offset }: NoiseTerm, x: number): number => scale * Math.max(x, 0) + offset

/** Signal over noise of one sample at signal x. */
export const signalToNoise = (term: NoiseTerm, x: number): number => x / Math.sqrt(varianceAt(term, x))

/** Electrons of a noise term; scale must be above 0. */
export const electronsOf = ({ scale, offset }: NoiseTerm): SensorElectrons => ({
  fullWellElectrons: 1 / scale,
  readNoiseElectrons: Math.sqrt(offset) / scale,
})

/**
 * Noise term of a sensor. With `levels` (white − black in stored codes) the quantisation of 1/12 code² is added, as in
 * the photon transfer method (EMVA 1288 §§ 2–4); without, it is taken to be in the read noise already.
 */
export function noiseOf({ fullWellElectrons, readNoiseElectrons }: SensorElectrons, levels = Infinity): NoiseTerm {
  return {
    scale: 1 / fullWellElectrons,
    offset: (readNoiseElectrons / fullWellElectrons) ** 2 + 1 / (12 * levels * levels),
  }
}

/** The noise of g·x in terms of the scaled signal: shot noise grows with g, read noise with g². */
export const afterGain = ({ scale, offset }: NoiseTerm, gain: number): NoiseTerm => ({
  scale: gain * scale,
  offset: gain * gain * offset,
})

/** Stops between the full well and the signal equal to the read noise. */
export const dynamicRangeStops = (term: NoiseTerm): number => -Math.log2(Math.sqrt(term.offset))

/**
 * One term per colour plane from a file's NoiseProfile: one term serves all planes. Null when the profile is absent,
 * has another count, or holds values that no noise has (files write zeros for "unknown").
 */
export function noisePlanes(profile: readonly NoiseTerm[] | null, planes: number): readonly NoiseTerm[] | null {
  if (!profile || (profile.length !== 1 && profile.length !== planes)) return null
  const sound = (t: NoiseTerm) => Number.isFinite(t.scale) && Number.isFinite(t.offset) && t.scale > 0 && t.offset >= 0
  if (!profile.every(sound)) return null
  return profile.length === planes ? profile : Array.from({ length: planes }, () => profile[0] as NoiseTerm)
}
