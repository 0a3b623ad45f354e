import { Failure, type LeftOut, malformed, overLimit, unsupported } from '#core/base'
import { type ExifFacts, type JpegFrame, readExif, readJpegContainer, readTiff } from '#core/formats'
import { exposureFacts, orientationFrom, xmpOrLeftOut } from './exposure-facts.ts'
import { MAX_PIXELS, MAX_SIDE } from './picture-limits.ts'
import type { RenderedFile } from './types.ts'

function checkFrame(frame: JpegFrame): void {
  const { marker, precision, components, width, height } = frame
  // Baseline, extended and progressive Huffman: what cameras write and codecs read.
  if (marker > 0xc2) throw unsupported('jpeg-process', { marker: `SOF${marker - 0xc0}` })
  if (precision !== 8) throw unsupported('jpeg-precision', { found: precision, expected: 8 })
  if (components !== 1 && components !== 3) throw unsupported('jpeg-components', { found: components })
  if (height === 0) throw unsupported('jpeg-height-later')
  if (width === 0) throw malformed('picture-size', { width, height })
  if (width > MAX_SIDE || height > MAX_SIDE || width * height > MAX_PIXELS) {
    throw overLimit('picture-too-large', { width, height, limitPixels: MAX_PIXELS, limitSide: MAX_SIDE })
  }
}

function exifOrLeftOut(block: Uint8Array | null, leftOut: LeftOut[]): ExifFacts | null {
  if (block === null) return null
  try {
    return readExif(readTiff(block), leftOut)
  } catch (error) {
    if (!(error instanceof Failure)) throw error
    leftOut.push({ what: 'exif', reason: error.code, facts: error.facts })
    return null
  }
}

/**
 * Understands a camera's JPEG file from its segments; pixels are not touched. `bytes` may be the head of a file of
 * `fileBytes`. Damaged Exif or XMP costs only itself.
 * @throws malformed "not-jpeg", "jpeg-…", "outside-file"; unsupported "jpeg-…"; limit "picture-too-large", "beyond-head"
 */
export function describeRendered(bytes: Uint8Array, fileBytes = bytes.length): RenderedFile {
  const leftOut: LeftOut[] = []
  const container = readJpegContainer(bytes, fileBytes)
  checkFrame(container.frame)
  const exif = exifOrLeftOut(container.exif, leftOut)
  const xmp = xmpOrLeftOut(container.xmp, leftOut)
  return {
    ...exposureFacts(exif, xmp),
    kind: 'jpeg',
    width: container.frame.width,
    height: container.frame.height,
    samples: 'rendered',
    bitsPerSample: container.frame.precision,
    orientation: orientationFrom(exif?.orientation ?? null, leftOut),
    leftOut,
  }
}
