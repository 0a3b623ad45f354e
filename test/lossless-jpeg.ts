import { type LosslessJpeg, parseLosslessJpeg } from '#core/formats'
import { type Kernels, LJPEG_STREAM_SPARE, LJPEG_TABLE_BYTES, type Memory } from '#core/kernels'

/** What a stream of the slow encoder is like. */
export interface StreamShape {
  readonly width: number
  readonly height: number
  readonly components: number
  readonly precision: number
  readonly predictor: number
  readonly pointTransform: number
  readonly restartLines: number
  /** For each component, the categories 0..16 in the order of their codes: the first gets 1 bit, the last three 16. */
  readonly codeOrders: readonly (readonly number[])[]
}

/** Lengths 1, 2 … 14 and three of 16: every length that matters, and one word left free. */
const STAIRS = Array.from({ length: 17 }, (_, k) => (k < 14 ? k + 1 : 16))

/**
 * An encoder for tests, written bit by bit from ITU-T T.81 Annexes C, F and H, with everything that the project's own
 * encoder does not need: restart markers, point transform, any Huffman code. Samples keep their low bits only if the point
 * transform is 0.
 */
export function slowLosslessJpeg(samples: ArrayLike<number>, shape: StreamShape): Uint8Array {
  const { width, height, components, precision, predictor, pointTransform, restartLines, codeOrders } = shape
  const u16 = (v: number) => [v >> 8, v & 255]
  const out = [0xff, 0xd8]
  codeOrders.forEach((order, c) => {
    const counts = Array.from({ length: 16 }, (_, k) => STAIRS.filter((l) => l === k + 1).length)
    out.push(0xff, 0xc4, ...u16(2 + 17 + 17), c, ...counts, ...order)
  })
  out.push(0xff, 0xc3, ...u16(8 + 3 * components), precision, ...u16(height), ...u16(width), components)
  for (let c = 0; c < components; c++) out.push(10 + c, 0x11, 0)
  if (restartLines > 0) out.push(0xff, 0xdd, 0, 4, ...u16(restartLines * width))
  out.push(0xff, 0xda, ...u16(6 + 2 * components), components)
  for (let c = 0; c < components; c++) out.push(10 + c, c << 4)
  out.push(predictor, 0, pointTransform)

  const words = codeOrders.map((order) => codeWords(order))
  const at = (x: number, y: number, c: number) => samples[(y * width + x) * components + c]! >> pointTransform
  let bits: number[] = []
  const flush = () => {
    while (bits.length % 8 !== 0) bits.push(1)
    for (let i = 0; i < bits.length; i += 8) {
      const byte = Number.parseInt(bits.slice(i, i + 8).join(''), 2)
      out.push(byte)
      if (byte === 255) out.push(0)
    }
    bits = []
  }
  for (let y = 0; y < height; y++) {
    const firstLine = restartLines === 0 ? y === 0 : y % restartLines === 0
    if (firstLine && y > 0) {
      flush()
      out.push(0xff, 0xd0 + ((y / restartLines - 1) & 7))
    }
    for (let x = 0; x < width; x++)
      for (let c = 0; c < components; c++) {
        let p: number
        if (firstLine) p = x === 0 ? 1 << (precision - pointTransform - 1) : at(x - 1, y, c)
        else if (x === 0) p = at(x, y - 1, c)
        else {
          const [a, b, d] = [at(x - 1, y, c), at(x, y - 1, c), at(x - 1, y - 1, c)]
          p = [0, a, b, d, a + b - d, a + ((b - d) >> 1), b + ((a - d) >> 1), (a + b) >> 1][predictor]!
        }
        let difference = (at(x, y, c) - p) & 0xffff
        if (difference > 32768) difference -= 65536
        const category = difference === 0 ? 0 : Math.floor(Math.log2(Math.abs(difference))) + 1
        bits.push(...words[c]![category]!)
        const extra = difference < 0 ? difference + (1 << category) - 1 : difference
        if (category < 16) for (let k = category - 1; k >= 0; k--) bits.push((extra >> k) & 1)
      }
  }
  flush()
  out.push(0xff, 0xd9)
  return Uint8Array.from(out)
}

/** Code words by category, as arrays of bits (T.81 Annex C). */
function codeWords(order: readonly number[]): number[][] {
  const words: number[][] = []
  let word = 0
  order.forEach((category, k) => {
    words[category] = Array.from({ length: STAIRS[k]! }, (_, i) => (word >> (STAIRS[k]! - 1 - i)) & 1)
    word = (word + 1) << ((STAIRS[k + 1] ?? STAIRS[k]!) - STAIRS[k]!)
  })
  return words
}

/** Memory that `kernelLines` uses from its address on. */
export const KERNEL_LINES_BYTES = 1 << 20

/**
 * A stream without restart markers through the kernels: header, tables and stream laid out at `at`. Returns how many lines
 * came out and their samples. For frames up to 64 Ki samples.
 */
export function kernelLines(memory: Memory, kernels: Kernels, bytes: Uint8Array, at: number) {
  const { jpeg, stream, samples } = layStream(memory, kernels, bytes, at)
  const { width, height, components, predictor } = jpeg
  const lines = kernels.ljpegLines(stream, width, components, predictor, initial(jpeg), height, 2 * width * components)
  return { lines, samples: memory.u16(samples, width * height * components).slice() }
}

/** The same for two streams of one shape and two components. */
export function kernelLinesOfTwo(
  memory: Memory,
  kernels: Kernels,
  bytes: readonly [Uint8Array, Uint8Array],
  at: number,
) {
  const a = layStream(memory, kernels, bytes[0], at)
  const b = layStream(memory, kernels, bytes[1], at + KERNEL_LINES_BYTES)
  const { width, height, predictor } = a.jpeg
  const lines = kernels.ljpegLinesOfTwo(a.stream, b.stream, width, predictor, initial(a.jpeg), height, 4 * width)
  return { lines, samples: [a, b].map((s) => memory.u16(s.samples, 2 * width * height).slice()) }
}

const initial = (jpeg: LosslessJpeg) => 1 << (jpeg.precision - jpeg.pointTransform - 1)

function layStream(memory: Memory, kernels: Kernels, bytes: Uint8Array, at: number) {
  const jpeg = parseLosslessJpeg(bytes, 0, bytes.length)
  const [huffman, tables, samples, file] = [at + 64, at + 1024, at + 65536, at + 262144]
  jpeg.tables.forEach((table, c) => {
    memory.u8(huffman, 16).set(table.counts)
    memory.u8(huffman + 16, table.symbols.length).set(table.symbols)
    kernels.ljpegTable(huffman, tables + c * LJPEG_TABLE_BYTES)
  })
  memory.u8(file, bytes.length).set(bytes)
  const end = at + KERNEL_LINES_BYTES - LJPEG_STREAM_SPARE
  const found = kernels.ljpegUnstuff(file + jpeg.dataOffset, bytes.length - jpeg.dataOffset, end)
  memory.u32(at, 5).set([end, 8 * found, 0, samples, tables])
  return { jpeg, stream: at, samples }
}
