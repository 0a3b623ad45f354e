import { malformed, unsupported } from '#core/base'

export { encodeLosslessJpeg } from './lossless-jpeg-encoder.ts'

/** One Huffman table as a DHT segment has it: how many codes of each length 1..16, then their symbols in code order. */
export interface HuffmanTable {
  readonly counts: Uint8Array
  /** Difference categories SSSS, 0..16. */
  readonly symbols: Uint8Array
}

/** The header of a lossless JPEG frame (ITU-T T.81 Annex H, process 14): everything before the entropy-coded data. */
export interface LosslessJpeg {
  /** Bits a sample, 2..16. */
  readonly precision: number
  readonly width: number
  readonly height: number
  /** Interleaved samples of a pixel, 1..4. */
  readonly components: number
  /** Selection value, 1..7. */
  readonly predictor: number
  /** Bits by which the samples were shifted right before coding, 0..15 and below the precision. */
  readonly pointTransform: number
  /** Lines between restart markers; 0 when there are none. */
  readonly restartLines: number
  /** One table for each component. */
  readonly tables: readonly HuffmanTable[]
  /** Where in `bytes` the entropy-coded data start. */
  readonly dataOffset: number
}

const SOI = 0xd8
const EOI = 0xd9
const SOF3 = 0xc3
const DHT = 0xc4
const JPG = 0xc8
const DAC = 0xcc
const SOS = 0xda
const DRI = 0xdd

/** T.81 table B.1: what each start-of-frame marker other than SOF3 stands for. */
const OTHER_FRAMES: Readonly<Record<number, string>> = {
  192: 'baseline DCT',
  193: 'extended sequential DCT',
  194: 'progressive DCT',
  197: 'differential sequential DCT',
  198: 'differential progressive DCT',
  199: 'differential lossless',
  201: 'arithmetic sequential DCT',
  202: 'arithmetic progressive DCT',
  203: 'arithmetic lossless',
  205: 'arithmetic differential sequential DCT',
  206: 'arithmetic differential progressive DCT',
  207: 'arithmetic differential lossless',
}

interface Frame {
  readonly precision: number
  readonly width: number
  readonly height: number
  readonly componentIds: readonly number[]
}

/**
 * Reads the header of the lossless JPEG stream in bytes[offset, offset + byteCount). Throws `unsupported` for any other
 * JPEG process (named in the facts), for several scans and for subsampled components; `malformed` for the rest.
 */
export function parseLosslessJpeg(bytes: Uint8Array, offset: number, byteCount: number): LosslessJpeg {
  const end = offset + byteCount
  if (!(offset >= 0 && byteCount >= 0 && end <= bytes.length))
    throw malformed('jpeg-outside-file', { offset, byteCount })
  if (byteCount < 4 || bytes[offset] !== 0xff || bytes[offset + 1] !== SOI) throw malformed('jpeg-no-start', { offset })
  const tables: (HuffmanTable | undefined)[] = []
  let frame: Frame | null = null
  let restartInterval = 0
  let at = offset + 2
  for (;;) {
    // T.81 B.1.1.2: any number of FF fill bytes may come before a marker.
    if (at >= end || bytes[at] !== 0xff) throw malformed('jpeg-no-marker', { offset: at })
    while (at < end && bytes[at] === 0xff) at++
    const marker = at < end ? bytes[at]! : EOI
    if (marker === EOI) throw malformed('jpeg-no-scan', { offset: at })
    if (marker === 0x01 || (marker >= 0xd0 && marker <= SOI)) throw malformed('jpeg-unexpected-marker', { marker })
    const body = new Segment(bytes, at + 1, end)
    at = body.end
    if (marker === SOF3) {
      if (frame) throw malformed('jpeg-second-frame', { offset: at })
      frame = readFrame(body)
    } else if (marker === DHT) readTables(body, tables)
    else if (marker === DRI) restartInterval = body.u16()
    else if (marker === SOS) return readScan(body, frame, tables, restartInterval)
    else if (marker >= 0xc0 && marker <= 0xcf && marker !== JPG && marker !== DAC)
      throw unsupported('jpeg-process', { marker, process: OTHER_FRAMES[marker] ?? 'unknown' })
  }
}

/** A marker segment: a length that counts itself, then that many bytes; every read is checked against it. */
class Segment {
  readonly end: number
  readonly #bytes: Uint8Array
  #at: number

  constructor(bytes: Uint8Array, at: number, limit: number) {
    const length = at + 2 <= limit ? (bytes[at]! << 8) | bytes[at + 1]! : 0
    if (length < 2 || at + length > limit) throw malformed('jpeg-truncated', { offset: at })
    this.#bytes = bytes
    this.#at = at + 2
    this.end = at + length
  }

  get left(): number {
    return this.end - this.#at
  }

  u8(): number {
    if (this.#at >= this.end) throw malformed('jpeg-truncated', { offset: this.#at })
    return this.#bytes[this.#at++]!
  }

  u16(): number {
    return (this.u8() << 8) | this.u8()
  }

  /** A copy: the header outlives the file's bytes. */
  take(count: number): Uint8Array {
    if (this.left < count) throw malformed('jpeg-truncated', { offset: this.#at })
    this.#at += count
    return this.#bytes.slice(this.#at - count, this.#at)
  }
}

function readFrame(body: Segment): Frame {
  const precision = body.u8()
  const height = body.u16()
  const width = body.u16()
  const count = body.u8()
  if (precision < 2 || precision > 16) throw malformed('jpeg-precision', { precision })
  if (width === 0) throw malformed('jpeg-empty', { width, height })
  // A height of 0 promises a DNL marker after the scan (T.81 B.2.5); nothing writes this for raw data.
  if (height === 0) throw unsupported('jpeg-height-later')
  if (count < 1 || count > 4) throw unsupported('jpeg-components', { components: count })
  const componentIds: number[] = []
  for (let c = 0; c < count; c++) {
    componentIds.push(body.u8())
    const sampling = body.u8()
    body.u8()
    // A single component is never interleaved, so its sampling factors mean nothing (T.81 A.2.2).
    if (count > 1 && sampling !== 0x11) throw unsupported('jpeg-subsampled', { component: c, sampling })
  }
  return { precision, width, height, componentIds }
}

function readTables(body: Segment, tables: (HuffmanTable | undefined)[]): void {
  while (body.left > 0) {
    const head = body.u8()
    const counts = body.take(16)
    const symbols = body.take(counts.reduce((sum, n) => sum + n, 0))
    // Class 1 holds AC tables, which the lossless process does not have.
    if (head >> 4 !== 0) continue
    if ((head & 15) > 3) throw malformed('jpeg-table-number', { table: head & 15 })
    tables[head & 15] = { counts, symbols }
  }
}

/** Refuses a table that assigns more codes than there are words, or that names a category beyond 16. */
function checkTable({ counts, symbols }: HuffmanTable): void {
  let free = 1
  for (const count of counts) {
    free = 2 * free - count
    if (free < 0) throw malformed('jpeg-table-oversubscribed')
  }
  // T.81 B.2.4.2: a symbol is one byte, so that more than 256 cannot all differ.
  if (symbols.length === 0 || symbols.length > 256) throw malformed('jpeg-table-size', { symbols: symbols.length })
  for (const symbol of symbols) if (symbol > 16) throw malformed('jpeg-table-symbol', { symbol })
}

function readScan(
  body: Segment,
  frame: Frame | null,
  tables: readonly (HuffmanTable | undefined)[],
  restartInterval: number,
): LosslessJpeg {
  if (!frame) throw malformed('jpeg-scan-before-frame')
  const components = frame.componentIds.length
  const inScan = body.u8()
  if (inScan !== components) throw unsupported('jpeg-several-scans', { components, inScan })
  const used: HuffmanTable[] = []
  for (const id of frame.componentIds) {
    const selected = body.u8()
    if (selected !== id) throw malformed('jpeg-scan-component', { expected: id, found: selected })
    const number = body.u8() >> 4
    const table = tables[number]
    if (!table) throw malformed('jpeg-table-missing', { table: number })
    checkTable(table)
    used.push(table)
  }
  const predictor = body.u8()
  body.u8()
  const pointTransform = body.u8() & 15
  // Selection value 0 belongs to differential frames of the hierarchical process alone (T.81 table H.1).
  if (predictor < 1 || predictor > 7) throw malformed('jpeg-predictor', { predictor })
  if (pointTransform >= frame.precision) throw malformed('jpeg-point-transform', { pointTransform })
  // T.81 H.1.1: an interval is a whole number of lines.
  if (restartInterval % frame.width !== 0) throw malformed('jpeg-restart-interval', { restartInterval })
  const { precision, width, height } = frame
  const restartLines = restartInterval / width
  return {
    precision,
    width,
    height,
    components,
    predictor,
    pointTransform,
    restartLines,
    tables: used,
    dataOffset: body.end,
  }
}
