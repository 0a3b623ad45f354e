// A bent plane of 12 MP, megapixels a second of one core: lateral-colour terms of a small lens, six taps each way.
import { bothKernels } from '../../../../test/kernels.ts'
import { WARP_TABLE_BYTES, writeWarpTable } from './warp.ts'

const [WIDTH, HEIGHT, ROUNDS] = [4000, 3000, 7]
const plane = 4 * WIDTH * HEIGHT + 64
const { memory, plain, simd } = bothKernels(2 * plane + (1 << 20))
const [TERMS, TABLE, FROM] = [1024, 2048, 65536]
const TO = FROM + plane
if (TABLE + WARP_TABLE_BYTES > FROM) throw new Error('the table reaches into the plane')
writeWarpTable(memory, TABLE)
memory.f32(TERMS, 9).set([0.001, -0.03, 0.012, 0.001, 0.0001, -0.0002, WIDTH / 2, HEIGHT / 2, 2500])
const source = memory.f32(FROM, WIDTH * HEIGHT)
for (let i = 0; i < source.length; i++) source[i] = (Math.imul(i, 2654435761) >>> 8) / 2 ** 24

for (const [name, kernels, rounds] of [
  ['plain', plain, 1],
  ['SIMD', simd, ROUNDS],
] as const) {
  const times: number[] = []
  for (let round = 0; round < rounds; round++) {
    const start = performance.now()
    for (let y = 0; y < HEIGHT; y++) kernels.warpRow(FROM, TO + 4 * WIDTH * y, WIDTH, HEIGHT, y, TERMS, TABLE)
    times.push(performance.now() - start)
  }
  times.sort((a, b) => a - b)
  const rate = (ms: number) => (WIDTH * HEIGHT) / 1000 / ms
  console.log(`${name}: median ${rate(times[rounds >> 1]!).toFixed(1)} Mpx/s, best ${rate(times[0]!).toFixed(1)} Mpx/s`)
}
