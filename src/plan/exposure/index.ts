// Levels, shutter times and brackets. Knows light as numbers, and no sky.
export { type BracketDesign, type BracketRemark, type BracketWish, designBracket } from './bracket.ts'
export { checkExposureCamera, type ExposureCamera, type Pattern } from './camera.ts'
export {
  apex,
  brightnessValueOf,
  type Exposure,
  ev100Of,
  ev100OfLuminance,
  ev100OfLux,
  exposureValue,
  INCIDENT_C,
  luminanceOfBrightnessValue,
  luminanceOfEv100,
  luxOfEv100,
  METER_K,
  saturationLuminance,
  secondsFor,
} from './ev.ts'
export { flickerLeft } from './flicker.ts'
export { type FocusLens, hyperfocalMetres, sharpRange } from './focus.ts'
export { driftPixels, type Hover, hoverLimitSeconds, smearPixels, starTrailPixels, turnPixels } from './hover.ts'
export { nominalSeconds, type ShutterStep, shutterSeries } from './series.ts'
export { frameSnr, gainOverFrame, mergedSnr, snrOf } from './snr.ts'
export { levelOf, moonlitSubjects, type Subject, subjectById, subjects } from './subjects.ts'
