// Unpacking, megapixels a second of one core: 12 MP uncompressed, plain and SIMD.
import { bothKernels } from '../../../../test/kernels.ts'
import type { Kernels } from '../table.ts'

const [WIDTH, HEIGHT, ROUNDS] = [4000, 3000, 9]
const PIXELS = WIDTH * HEIGHT
const SRC = 1 << 20
const DST = SRC + 2 * PIXELS + 4096
const TABLE = DST + 2 * PIXELS + 4096

const { memory, plain, simd } = bothKernels(TABLE + 131072)
const bytes = memory.u8(SRC, 2 * PIXELS)
for (let i = 0; i < bytes.length; i++) bytes[i] = Math.imul(i, 40503) >> 8
memory.u16(TABLE, 4096).set(Uint16Array.from({ length: 4096 }, (_, i) => i * 15))

const loops: readonly (readonly [string, (k: Kernels) => void])[] = [
  ['8 bits', (k) => k.unpackBytes(SRC, WIDTH, DST, 2 * WIDTH, WIDTH, HEIGHT)],
  ['12 bits packed', (k) => k.unpackBits(SRC, WIDTH * 1.5, DST, 2 * WIDTH, WIDTH, HEIGHT, 12)],
  ['14 bits packed', (k) => k.unpackBits(SRC, WIDTH * 1.75, DST, 2 * WIDTH, WIDTH, HEIGHT, 14)],
  ['16 bits', (k) => k.unpackWords(SRC, 2 * WIDTH, DST, 2 * WIDTH, WIDTH, HEIGHT, 0)],
  ['16 bits, big-endian', (k) => k.unpackWords(SRC, 2 * WIDTH, DST, 2 * WIDTH, WIDTH, HEIGHT, 1)],
  ['linearisation', (k) => k.linearise(DST, 2 * WIDTH, WIDTH, HEIGHT, TABLE, 4096)],
]
for (const [name, loop] of loops) {
  const rates = ([plain, simd] as const).map((kernels) => {
    const times = Array.from({ length: ROUNDS }, () => {
      const start = performance.now()
      loop(kernels)
      return performance.now() - start
    }).sort((a, b) => a - b)
    return (PIXELS / 1000 / times[ROUNDS >> 1]!).toFixed(0)
  })
  console.log(`${name}: plain ${rates[0]} Mpx/s, SIMD ${rates[1]} Mpx/s`)
}
