// Demosaic of 12 and 48 MP, megapixels a second of one core, in strips of 128 rows as the finish room runs it. Filling
// the mosaic does not count. The plain kernel is timed on one megapixel: it is the definition, not meant for speed.
import { seededRandom } from '#core/base'
import { bothKernels } from '../../../../test/kernels.ts'
import type { Kernels } from '../table.ts'
import { demosaicScratchBytes } from './demosaic.ts'

const STRIP = 128
const TOE = 1e-3
const aligned = (bytes: number) => (bytes + 127) & ~63

const { memory, plain, simd } = bothKernels(aligned(demosaicScratchBytes(8064)) + 4 * aligned(4 * 8064 * 6048) + 4096)

function time(kernels: Kernels, width: number, height: number, toe: number, rounds: number): number {
  const scratch = 1024
  const mosaic = scratch + aligned(demosaicScratchBytes(width))
  const plane = aligned(4 * width * height)
  const random = seededRandom(1)
  const samples = memory.f32(mosaic, width * height)
  for (let i = 0; i < samples.length; i++) samples[i] = 0.1 + 0.05 * Math.sin(i / 700) + 0.01 * random.uniform()
  const [red, green, blue] = [1, 2, 3].map((i) => mosaic + i * plane) as [number, number, number]
  const times: number[] = []
  for (let round = 0; round < rounds; round++) {
    const start = performance.now()
    for (let y = 0; y < height; y += STRIP) {
      const end = Math.min(height, y + STRIP)
      kernels.demosaicRows(mosaic, width, height, y, end, 0, toe, red, green, blue, width, scratch)
    }
    times.push(performance.now() - start)
  }
  return times.sort((a, b) => a - b)[rounds >> 1]!
}

for (const [name, kernels, width, height, toe, rounds] of [
  ['plain, 1 MP', plain, 1152, 864, TOE, 3],
  ['SIMD, 12 MP', simd, 4032, 3024, TOE, 9],
  ['SIMD, 12 MP, encoding off', simd, 4032, 3024, 0, 9],
  ['SIMD, 48 MP', simd, 8064, 6048, TOE, 5],
] as const) {
  const ms = time(kernels, width, height, toe, rounds)
  console.log(`${name}: ${ms.toFixed(0)} ms, ${((width * height) / 1000 / ms).toFixed(1)} Mpx/s`)
}
