// Lossless JPEG decoding, megapixels a second of one core: 12 MP of 14-bit noise on a slope, tiles of 256 × 256 samples
// as two components, predictor 1. Header reading, un-stuffing and table making count; encoding does not.
import { seededRandom } from '#core/base'
import { encodeLosslessJpeg, parseLosslessJpeg } from '#core/formats'
import { bothKernels } from '../../../../test/kernels.ts'
import type { Kernels } from '../table.ts'
import { LJPEG_STREAM_SPARE, LJPEG_TABLE_BYTES } from './ljpeg.ts'

const TILE = 256
const TILES = 184
const ROUNDS = 9

const random = seededRandom(1)
const tiles = Array.from({ length: TILES }, (_, t) => {
  const samples = new Uint16Array(TILE * TILE)
  for (let i = 0; i < samples.length; i++)
    samples[i] = 900 + 8 * t + ((i & 255) >> 2) + (i & 1) * 300 + Math.round(24 * random.normal())
  return encodeLosslessJpeg(samples, TILE / 2, TILE, 2, 14)
})

const bytes = tiles.reduce((sum, t) => sum + t.length, 0)
const { memory, plain, simd } = bothKernels(bytes + (8 << 20))
const fileAt = 4 << 20
const starts: number[] = []
let at = fileAt
for (const tile of tiles) {
  memory.u8(at, tile.length).set(tile)
  starts.push(at)
  at += tile.length
}
const file = memory.u8(0, at)

/** Tables and stream of one tile, in a stretch of 512 KiB at `bench`; returns the stream's address. */
function prepare(kernels: Kernels, tile: number, bench: number): number {
  const start = starts[tile]!
  const length = tiles[tile]!.length
  const jpeg = parseLosslessJpeg(file, start, length)
  const tablesAt = bench + 1024
  jpeg.tables.forEach((table, c) => {
    memory.u8(bench + 64, 16).set(table.counts)
    memory.u8(bench + 80, table.symbols.length).set(table.symbols)
    kernels.ljpegTable(bench + 64, tablesAt + c * LJPEG_TABLE_BYTES)
  })
  const end = bench + (512 << 10) - LJPEG_STREAM_SPARE
  const found = kernels.ljpegUnstuff(jpeg.dataOffset, start + length - jpeg.dataOffset, end)
  memory.u32(bench, 5).set([end, 8 * found, 0, bench + (64 << 10), tablesAt])
  return bench
}

function decodeAll(kernels: Kernels, atOnce: 1 | 2): void {
  const A = 1 << 20
  const B = A + (512 << 10)
  for (let t = 0; t < TILES; t += atOnce) {
    const a = prepare(kernels, t, A)
    const initial = 1 << 13
    const lines =
      atOnce === 1
        ? kernels.ljpegLines(a, TILE / 2, 2, 1, initial, TILE, 2 * TILE)
        : kernels.ljpegLinesOfTwo(a, prepare(kernels, t + 1, B), TILE / 2, 1, initial, TILE, 2 * TILE)
    if (lines !== TILE) throw new Error(`stream ${t} ended after ${lines} lines`)
  }
}

const pixels = TILES * TILE * TILE
console.log(`${(pixels / 1e6).toFixed(1)} Mpx, ${((8 * bytes) / pixels).toFixed(2)} bits a pixel`)
for (const [name, kernels, atOnce] of [
  ['plain, one stream', plain, 1],
  ['SIMD, one stream', simd, 1],
  ['SIMD, two streams', simd, 2],
] as const) {
  const times: number[] = []
  for (let round = 0; round < ROUNDS; round++) {
    const start = performance.now()
    decodeAll(kernels, atOnce)
    times.push(performance.now() - start)
  }
  times.sort((a, b) => a - b)
  const rate = (ms: number) => (pixels / 1000 / ms).toFixed(0)
  console.log(`${name}: median ${rate(times[ROUNDS >> 1]!)} Mpx/s, best ${rate(times[0]!)} Mpx/s`)
}
