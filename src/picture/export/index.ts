export { type ExifBlock, exifBlock, exposureFraction, neverWritten, noFacts, type PrintFacts } from './exif-block.ts'
