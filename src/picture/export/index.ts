export { brighterLight } from './brighter.ts'
export { type Difference, decibels, exactly, percent } from './compare.ts'
export {
  type ExifBlock,
  type ExifFields,
  exifBlock,
  exifFieldsOf,
  exposureFraction,
  noFacts,
  type PictureFacts,
  type PrintFacts,
} from './exif-block.ts'
export { type Found, metadataIn } from './found.ts'
export { type GainMap, gainCode, gainMapBetween, gainStops } from './gain-map.ts'
export { type LinearSamples, linearSamples } from './linear-dng.ts'
export { type NameFacts, nameFrom, nameWords } from './name.ts'
export type { BrighterImage, PrintImage, PrintImage8, PrintImage16, PrintSpace } from './print-image.ts'
export { alwaysRemoved, type KeepGroup, keepGroups, keptFacts, removedNames } from './privacy.ts'
export { eightBits, lightOf16, resizePlane, resizePrint, type Size, sizeWithin } from './resize.ts'
