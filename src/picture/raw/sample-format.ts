import { malformed, overLimit, unsupported } from '#core/base'
import type { TagReader } from '#core/formats'
import { type CfaColour, type CfaPattern, isBayer } from '#core/pixels'
import { MAX_PIXELS, MAX_SIDE } from './picture-limits.ts'
import type { Packing, SampleFormat } from './types.ts'

/** Compression numbers that are refused by their method's name; others by number. */
const REFUSED: Readonly<Record<number, string>> = {
  2: 'CCITT run-length',
  3: 'CCITT Group 3',
  4: 'CCITT Group 4',
  5: 'LZW',
  6: 'old-style JPEG',
  9: 'JBIG',
  10: 'JBIG',
  32773: 'PackBits',
  34712: 'JPEG 2000 (wavelet)',
  34892: 'lossy JPEG',
  34925: 'LZMA',
  50000: 'Zstandard',
  50001: 'WebP',
  52546: 'JPEG XL',
}

const PACKINGS: Readonly<Record<number, Packing>> = { 1: 'none', 7: 'lossless-jpeg', 8: 'deflate', 32946: 'deflate' }

function pictureSize(tags: TagReader) {
  const width = tags.mustNumber(256) ?? 0
  const height = tags.mustNumber(257) ?? 0
  if (width < 1 || height < 1) throw malformed('picture-size', { width, height })
  if (width > MAX_SIDE || height > MAX_SIDE || width * height > MAX_PIXELS) {
    throw overLimit('picture-too-large', { width, height, limitPixels: MAX_PIXELS, limitSide: MAX_SIDE })
  }
  return { width, height }
}

function bitsPerSample(tags: TagReader): number {
  const bits = tags.mustNumbers(258) ?? [1]
  const first = bits[0]!
  if (bits.some((b) => b !== first)) throw unsupported('bits-differ', { found: bits.slice(0, 8) })
  const kind = (tags.mustNumbers(339) ?? [1])[0]!
  if (kind === 3) throw unsupported('float-samples', { bits: first })
  if (kind !== 1) throw unsupported('sample-kind', { tag: 339, found: kind })
  if (first < 8 || first > 16) throw unsupported('bits-per-sample', { found: first, expected: '8 to 16' })
  return first
}

/** CFAPattern of a 2×2 Bayer cell in red, green, blue; its origin is the active area's top-left (DNG 1.6, CFALayout). */
function cfaPattern(tags: TagReader): CfaPattern {
  const size = tags.mustNumbers(33421) ?? [2, 2]
  const cells = tags.mustNumbers(33422)
  if (cells === null) throw malformed('cfa-pattern-absent', { tag: 33422 })
  if (size[0] !== 2 || size[1] !== 2 || cells.length !== 4) {
    throw unsupported('cfa-pattern', { rows: size[0] ?? 0, columns: size[1] ?? 0, found: cells.slice(0, 36) })
  }
  const pattern = cells as unknown as CfaPattern
  if (cells.some((c) => c > 2) || !isBayer(pattern.map((c) => c as CfaColour) as unknown as CfaPattern)) {
    throw unsupported('cfa-pattern', { rows: 2, columns: 2, found: cells })
  }
  const planes = tags.mustNumbers(50710) ?? [0, 1, 2]
  if (planes.length !== 3 || planes.some((p, i) => p !== i))
    throw unsupported('cfa-colours', { found: planes.slice(0, 8) })
  const layout = tags.mustNumber(50711) ?? 1
  if (layout !== 1) throw unsupported('cfa-layout', { tag: 50711, found: layout })
  return pattern
}

/** Arrangements of rows and samples that would put every sample in the wrong place if they went unnoticed. */
function refuseRearranged(tags: TagReader, samplesPerPixel: number): void {
  const planar = tags.mustNumber(284) ?? 1
  // With one sample a pixel both arrangements are the same (TIFF 6.0, PlanarConfiguration).
  if (planar !== 1 && samplesPerPixel > 1) throw unsupported('planar-configuration', { tag: 284, found: planar })
  const fillOrder = tags.mustNumber(266) ?? 1
  if (fillOrder !== 1) throw unsupported('fill-order', { tag: 266, found: fillOrder })
  const interleave = [
    ...(tags.mustNumbers(50974) ?? []),
    ...(tags.mustNumbers(50975) ?? []),
    ...(tags.mustNumbers(52547) ?? []),
  ]
  if (interleave.some((n) => n !== 1)) throw unsupported('interleaved-samples', { found: interleave.slice(0, 4) })
}

function packingOf(tags: TagReader) {
  const compression = tags.mustNumber(259) ?? 1
  const packing = PACKINGS[compression]
  if (packing === undefined) {
    throw unsupported('compression', { found: compression, name: REFUSED[compression] ?? `number ${compression}` })
  }
  const predictor = packing === 'deflate' ? (tags.mustNumber(317) ?? 1) : 1
  if (predictor !== 1 && predictor !== 2) throw unsupported('predictor', { tag: 317, found: predictor })
  return { compression, packing, predictor }
}

/**
 * The sample format of the raw directory (TIFF 6.0; DNG 1.6 chapters 3 and 4).
 * @throws malformed "picture-size", "cfa-pattern-absent"; limit "picture-too-large"; unsupported "compression",
 * "predictor", "bits-per-sample", "bits-differ", "float-samples", "sample-kind", "samples-per-pixel", "cfa-pattern",
 * "cfa-colours", "cfa-layout", "planar-configuration", "fill-order", "interleaved-samples"
 */
export function sampleFormat(tags: TagReader): SampleFormat {
  const samples = tags.mustNumber(262) === 32803 ? 'cfa' : 'linear'
  const size = pictureSize(tags)
  const packing = packingOf(tags)
  const samplesPerPixel = tags.mustNumber(277) ?? 1
  if (!(samplesPerPixel === 1 || (samplesPerPixel === 3 && samples === 'linear'))) {
    throw unsupported('samples-per-pixel', { found: samplesPerPixel, samples })
  }
  const bits = bitsPerSample(tags)
  refuseRearranged(tags, samplesPerPixel)
  const cfa = samples === 'cfa' ? cfaPattern(tags) : null
  return { ...size, ...packing, samples, samplesPerPixel, bitsPerSample: bits, cfa }
}
