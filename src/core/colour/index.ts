export { adaptWhite } from './adapt.ts'
export {
  type CameraColour,
  type ColourCalibration,
  cameraToLinearSrgb,
  neutralGainsOnly,
  type WhiteSource,
} from './camera.ts'
export { deltaE2000 } from './ciede2000.ts'
export { lightSourceKelvin } from './illuminant.ts'
export { labFromXyz, xyzFromLab } from './lab.ts'
export { linearSrgbFromOklab, oklabFromLinearSrgb } from './oklab.ts'
export {
  bradfordD50ToD65,
  bradfordD65ToD50,
  bt2020Space,
  p3Space,
  type RgbSpace,
  rgbToXyz,
  srgbSpace,
  srgbToXyzD50,
  srgbToXyzD65,
  xyzD50ToSrgb,
  xyzD65ToSrgb,
} from './primaries.ts'
export { decodeSrgb, encodeSrgb, srgbDecodeTable, srgbEncodeTable } from './srgb.ts'
export { chromaticityOf, type IsothermTable, mccamyKelvin, type Temperature, temperatureOf } from './temperature.ts'
export { type Chromaticity, pcsD50, white, whiteD50, whiteD65, xyFromXyz, xyzFromXy } from './white.ts'
