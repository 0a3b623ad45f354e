export { type Attitude, attitudePacket } from './attitude-packet.ts'
export {
  type AvifPicture,
  type CodePoints,
  codePoints,
  type HeifItem,
  heifItems,
  heifProperties,
  readAvif,
  writeAvif,
} from './avif.ts'
export { type ByteWindow, byteWindow, readInParts } from './byte-window.ts'
export { type LinearDngToWrite, writeLinearDng } from './dng-linear.ts'
export { type DngPacking, type MosaicToPack, packSegment, segmentCount } from './dng-tiles.ts'
export { type ColourToWrite, type DngToWrite, exifFields, MATRIX_DENOMINATOR, writeDng } from './dng-writer.ts'
export { type ExifFacts, readExif } from './exif.ts'
export { type ExrChannel, type ExrFile, readExr } from './exr-read.ts'
export {
  type Chromaticities,
  EXR_ROW_HEAD_BYTES,
  type ExrChannelToWrite,
  type ExrLayout,
  type ExrPicture,
  exrLayout,
  linearSrgbChromaticities,
  writeExr,
} from './exr-write.ts'
export {
  GAIN_MAP_SEGMENT,
  type GainMapChannel,
  type GainMapMetadata,
  gainMapMetadataIn,
  gainMapPayload,
  gainMapProperties,
  readGainMapPayload,
} from './gain-map.ts'
export { writeGainMapJpeg } from './gain-map-jpeg.ts'
export {
  type MatrixProfile,
  type ProfileName,
  profileNames,
  rgbProfile,
  srgbProfile,
  writeMatrixProfile,
} from './icc.ts'
export { inflateBounded } from './inflate.ts'
export {
  isFrameMarker,
  isJpeg,
  type JpegContainer,
  type JpegFrame,
  readJpegContainer,
  readJpegFrame,
} from './jpeg-container.ts'
export { insertJpegSegments, type JpegMetadata } from './jpeg-segments.ts'
export { encodeLosslessJpeg, type HuffmanTable, type LosslessJpeg, parseLosslessJpeg } from './lossless-jpeg.ts'
export { predictedSample } from './lossless-jpeg-predictor.ts'
export { isPng, type PngChunk, pngChunks, withPngMetadata } from './png-chunks.ts'
export { utf8Bytes, utf8Text } from './text.ts'
export {
  childDirectories,
  isTiff,
  mustPass,
  readTiff,
  type TiffDirectory,
  type TiffField,
  type TiffFile,
} from './tiff-directory.ts'
export { type Picture16, type PictureMetadata, writeTiff16 } from './tiff-picture.ts'
export { type TagReader, tagReader } from './tiff-value.ts'
export {
  type ChildrenToWrite,
  type DirectoryToWrite,
  type FieldToWrite,
  rationals,
  type SegmentsToWrite,
  type TiffTypeName,
  writeTiff,
} from './tiff-writer.ts'
export { readXmp, type XmpProperties } from './xmp.ts'
export { writeXmp, type XmpToWrite, xmlText } from './xmp-packet.ts'
