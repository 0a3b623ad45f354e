export type { Mosaic } from './blocks.ts'
export { estimateNoise, type NoiseEstimate } from './estimate.ts'
export {
  afterGain,
  dynamicRangeStops,
  electronsOf,
  type NoiseTerm,
  noiseOf,
  noisePlanes,
  type SensorElectrons,
  signalToNoise,
  varianceAt,
} from './noise.ts'
export { saturationLuminance } from './saturation.ts'
