import { malformed, overLimit, unsupported } from '#core/base'
import { type ByteWindow, readJpegFrame, type TagReader } from '#core/formats'
import { MAX_PIXELS, MAX_SEGMENTS, MAX_SIDE } from './picture-limits.ts'
import type { SampleFormat, Segment } from './types.ts'

/** Strips and tiles seen alike: a grid of equal cells, whose last strip may be shorter. */
interface Grid {
  readonly cellWidth: number
  readonly cellHeight: number
  readonly columns: number
  readonly rows: number
  readonly tiled: boolean
}

function gridOf(tags: TagReader, { width, height }: SampleFormat): Grid {
  if (!tags.has(322)) {
    // Absent or 2^32 − 1: one strip holds the picture.
    const rowsPerStrip = Math.min(tags.mustNumber(278) ?? height, height)
    if (rowsPerStrip < 1) throw malformed('strip-size', { tag: 278, found: rowsPerStrip })
    return {
      cellWidth: width,
      cellHeight: rowsPerStrip,
      columns: 1,
      rows: Math.ceil(height / rowsPerStrip),
      tiled: false,
    }
  }
  const cellWidth = tags.mustNumber(322) ?? 0
  const cellHeight = tags.mustNumber(323) ?? 0
  if (cellWidth < 1 || cellHeight < 1) throw malformed('tile-size', { width: cellWidth, height: cellHeight })
  if (cellWidth > MAX_SIDE || cellHeight > MAX_SIDE || cellWidth * cellHeight > MAX_PIXELS) {
    throw overLimit('tile-too-large', {
      width: cellWidth,
      height: cellHeight,
      limitPixels: MAX_PIXELS,
      limitSide: MAX_SIDE,
    })
  }
  return {
    cellWidth,
    cellHeight,
    columns: Math.ceil(width / cellWidth),
    rows: Math.ceil(height / cellHeight),
    tiled: true,
  }
}

/**
 * The fewest bytes that can hold a segment: whole rows of packed samples; at least one bit a sample from a Huffman code
 * (T.81 Annex C has no shorter one); at most 1032 to 1 from deflate (RFC 1951: 258 bytes from two bits). A segment that
 * declares less cannot be whole, and its size is not worth allocating.
 */
function fewestBytes(format: SampleFormat, width: number, height: number): number {
  const rowBytes = Math.ceil((width * format.samplesPerPixel * format.bitsPerSample) / 8)
  switch (format.packing) {
    case 'none':
      return rowBytes * height
    case 'lossless-jpeg':
      return Math.ceil((width * height * format.samplesPerPixel) / 8)
    case 'deflate':
      return Math.ceil((rowBytes * height) / 1032)
  }
}

/**
 * Where the strips or tiles lie, every one inside the file and large enough for its samples.
 * @throws malformed "strip-size", "tile-size", "segment-count", "segment-short", "file-cut-short"; limit "tile-too-large",
 * "too-many-segments"
 */
export function segmentsOf(tags: TagReader, format: SampleFormat, fileBytes: number): Segment[] {
  const grid = gridOf(tags, format)
  const count = grid.columns * grid.rows
  if (count > MAX_SEGMENTS) throw overLimit('too-many-segments', { found: count, limit: MAX_SEGMENTS })
  // Some writers list tiles under the strip tags.
  const offsets = (grid.tiled ? tags.mustNumbers(324) : null) ?? tags.mustNumbers(273)
  if (offsets === null || offsets.length < count) {
    throw malformed('segment-count', { expected: count, found: offsets?.length ?? 0 })
  }
  const counts = (grid.tiled ? tags.mustNumbers(325) : null) ?? tags.mustNumbers(279)
  if (counts === null ? format.packing !== 'none' : counts.length < count) {
    throw malformed('segment-count', { expected: count, found: counts?.length ?? 0 })
  }
  const segments: Segment[] = []
  for (let i = 0; i < count; i++) {
    const x = (i % grid.columns) * grid.cellWidth
    const y = Math.floor(i / grid.columns) * grid.cellHeight
    const height = grid.tiled ? grid.cellHeight : Math.min(grid.cellHeight, format.height - y)
    const wantedBytes = fewestBytes(format, grid.cellWidth, height)
    const offset = offsets[i]!
    const byteCount = counts?.[i] ?? wantedBytes
    if (byteCount < wantedBytes) throw malformed('segment-short', { segment: i, wantedBytes, foundBytes: byteCount })
    if (offset + byteCount > fileBytes) {
      throw malformed('file-cut-short', { segment: i, wantedBytes: offset + byteCount, fileBytes })
    }
    segments.push({ x, y, width: grid.cellWidth, height, offset, byteCount })
  }
  return segments
}

/**
 * Compression 7 covers lossless JPEG and, in some files against the standard's text, lossy DCT JPEG of 8 or 12 bits:
 * only the stream's own frame marker tells. Looks at the first segment.
 * @throws unsupported "lossy-jpeg"; malformed "not-jpeg", "jpeg-…"; limit "beyond-head"
 */
export function refuseLossyJpeg(window: ByteWindow, segment: Segment): void {
  const { marker, precision } = readJpegFrame(window, segment.offset)
  if (marker !== 0xc3) throw unsupported('lossy-jpeg', { marker: `SOF${marker - 0xc0}`, precision })
}
