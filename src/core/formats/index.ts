export { type ExrChannel, type ExrFile, readExr } from './exr-read.ts'
export {
  type Chromaticities,
  type ExrChannelToWrite,
  type ExrPicture,
  exrParts,
  linearSrgbChromaticities,
  writeExr,
} from './exr-write.ts'
export {
  type ChildrenToWrite,
  type DirectoryToWrite,
  type FieldToWrite,
  rationals,
  type SegmentsToWrite,
  type TiffTypeName,
  writeTiff,
} from './tiff-writer.ts'
