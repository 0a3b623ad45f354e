import type { NoiseTerm } from '#core/sensor'

/** The light of a frame's cells, as `frameLevels` writes it. */
export interface FrameLight {
  readonly columns: number
  readonly rows: number
  /** 1 = white; NaN where a sample is clipped. Row by row. */
  readonly light: Float32Array
  readonly noise: NoiseTerm
  /** Light recorded, in stops, from the tags: log2(t·S/N²). */
  readonly exposureStops: number
}

/** Cells needed for a line, or for a drift. */
export const FEWEST = 80
/** Samples in a cell's mean, at least. */
const SAMPLES = 256
/** Scene changes, drift and shading leave about this share of a cell's light. */
const SCENE = 0.02

/** Variance of a cell's mean at level `v` by the noise model. */
export const cellVariance = (noise: NoiseTerm, v: number) => (noise.scale * Math.max(v, 0) + noise.offset) / SAMPLES

/** Variance by which a cell may miss what is expected of it: its own noise, the others' and the scene's changes. */
export const scatterAt = (noise: NoiseTerm, v: number, others: number) => {
  const level = Math.max(v, 0)
  return (noise.scale * level + noise.offset) / SAMPLES + others + (SCENE * level) ** 2
}
