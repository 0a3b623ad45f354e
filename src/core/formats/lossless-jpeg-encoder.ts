import { Failure } from '#core/base'
import { huffmanLengths } from './huffman-lengths.ts'
import { predictedSample } from './lossless-jpeg-predictor.ts'

/** Categories of differences: SSSS 0..16 (ITU-T T.81 table H.2). */
const CATEGORIES = 17
const LONGEST_CODE = 16

/**
 * Writes one lossless JPEG frame (ITU-T T.81 Annex H, process 14): SOF3, one scan, one optimal Huffman table for each
 * component, no restart markers, point transform 0.
 *
 * `samples`: width × height × components values, interleaved, each below 2^precision; width and height 1..65535,
 * components 1..4, precision 2..16, predictor (selection value) 1..7. Throws `usage` for anything else.
 */
export function encodeLosslessJpeg(
  samples: Uint16Array,
  width: number,
  height: number,
  components: number,
  precision: number,
  predictor = 1,
): Uint8Array {
  const between = (v: number, low: number, high: number) => Number.isInteger(v) && v >= low && v <= high
  const fits = between(width, 1, 65535) && between(height, 1, 65535) && samples.length === width * height * components
  if (!fits || !between(components, 1, 4) || !between(precision, 2, 16) || !between(predictor, 1, 7))
    throw new Failure('usage', 'jpeg-encoder', {
      width,
      height,
      components,
      precision,
      predictor,
      samples: samples.length,
    })
  let all = 0
  for (let i = 0; i < samples.length; i++) all |= samples[i]!
  if (all >> precision !== 0) throw new Failure('usage', 'jpeg-encoder-range', { precision })

  const differences = differencesOf(samples, width * components, components, precision, predictor)
  const codes = Array.from({ length: components }, (_, c) => codesFor(differences, c, components))
  const bits = codes.reduce((sum, code) => sum + code.totalBits, 0)
  const head = header(width, height, components, precision, predictor, codes)
  // Every byte of data may need a stuffed zero after it; then padding and the end marker.
  const out = new Uint8Array(head.length + 2 * Math.ceil(bits / 8) + 4)
  out.set(head)
  const end = writeData(out, head.length, differences, codes)
  out[end] = 0xff
  out[end + 1] = 0xd9
  return out.slice(0, end + 2)
}

/** Differences modulo 2^16 as signed numbers; −32768 stands for the one difference of category 16. */
function differencesOf(x: Uint16Array, line: number, step: number, precision: number, predictor: number): Int16Array {
  const d = new Int16Array(x.length)
  const start = 1 << (precision - 1)
  for (let i = 0; i < line; i++) d[i] = x[i]! - (i < step ? start : x[i - step]!)
  for (let row = line; row < x.length; row += line) {
    for (let i = row; i < row + step; i++) d[i] = x[i]! - x[i - line]!
    if (predictor === 1) for (let i = row + step; i < row + line; i++) d[i] = x[i]! - x[i - step]!
    else
      for (let i = row + step; i < row + line; i++)
        d[i] = x[i]! - predictedSample(predictor, x[i - step]!, x[i - line]!, x[i - line - step]!)
  }
  return d
}

interface Codes {
  /** By length 1..16. */
  readonly counts: Uint8Array
  readonly symbols: readonly number[]
  /** By category. */
  readonly words: Uint16Array
  readonly lengths: Uint8Array
  readonly totalBits: number
}

const categoryOf = (difference: number) => 32 - Math.clz32(difference < 0 ? -difference : difference)

function codesFor(differences: Int16Array, first: number, step: number): Codes {
  const weights = new Float64Array(CATEGORIES)
  for (let i = first; i < differences.length; i += step) weights[categoryOf(differences[i]!)]!++
  const lengths = huffmanLengths(weights, LONGEST_CODE)
  const symbols = Array.from(lengths.keys())
    .filter((s) => lengths[s]! > 0)
    .sort((a, b) => lengths[a]! - lengths[b]! || a - b)
  const counts = new Uint8Array(LONGEST_CODE)
  const words = new Uint16Array(CATEGORIES)
  let word = 0
  let length = 0
  let totalBits = 0
  for (const s of symbols) {
    word <<= lengths[s]! - length
    length = lengths[s]!
    words[s] = word++
    counts[length - 1]!++
    totalBits += weights[s]! * (length + (s === 16 ? 0 : s))
  }
  return { counts, symbols, words, lengths, totalBits }
}

function header(
  width: number,
  height: number,
  components: number,
  precision: number,
  predictor: number,
  codes: readonly Codes[],
): number[] {
  const u16 = (v: number) => [v >> 8, v & 255]
  const each = <T>(make: (c: number) => T[]) => codes.flatMap((_, c) => make(c))
  return [
    ...[0xff, 0xd8, 0xff, 0xc3, ...u16(8 + 3 * components), precision, ...u16(height), ...u16(width), components],
    ...each((c) => [c + 1, 0x11, 0]),
    ...each((c) => [0xff, 0xc4, ...u16(19 + codes[c]!.symbols.length), c, ...codes[c]!.counts, ...codes[c]!.symbols]),
    ...[0xff, 0xda, ...u16(6 + 2 * components), components],
    ...each((c) => [c + 1, c << 4]),
    ...[predictor, 0, 0],
  ]
}

/** Entropy-coded data with FF 00 stuffing, filled up with ones (T.81 F.1.2.3); returns where they end. */
function writeData(out: Uint8Array, start: number, differences: Int16Array, codes: readonly Codes[]): number {
  let at = start
  let bits = 0
  let held = 0
  // One table for all components keeps the inner loop free of objects: 32 entries for each component.
  const words = new Uint16Array(32 * codes.length)
  const lengths = new Uint8Array(32 * codes.length)
  codes.forEach((code, c) => {
    words.set(code.words, 32 * c)
    lengths.set(code.lengths, 32 * c)
  })
  let table = 0
  for (let i = 0; i < differences.length; i++) {
    const d = differences[i]!
    const category = categoryOf(d)
    // Category 16 has no further bits; negative differences are sent as d − 1 (T.81 H.1.2.2).
    const extra = category === 16 ? 0 : category
    const value = (d < 0 ? d - 1 : d) & ((1 << extra) - 1)
    const length = lengths[table + category]!
    // At most 7 bits are held over, so that up to 24 more fit at once.
    if (length + extra > 24) {
      bits = (bits << length) | words[table + category]!
      for (held += length; held >= 8; ) {
        held -= 8
        const byte = (bits >>> held) & 255
        out[at++] = byte
        if (byte === 255) out[at++] = 0
      }
      bits = (bits << extra) | value
      held += extra
    } else {
      bits = (((bits << length) | words[table + category]!) << extra) | value
      held += length + extra
    }
    while (held >= 8) {
      held -= 8
      const byte = (bits >>> held) & 255
      out[at++] = byte
      if (byte === 255) out[at++] = 0
    }
    table += 32
    if (table === words.length) table = 0
  }
  if (held > 0) {
    const byte = ((bits << (8 - held)) | ((1 << (8 - held)) - 1)) & 255
    out[at++] = byte
    if (byte === 255) out[at++] = 0
  }
  return at
}
