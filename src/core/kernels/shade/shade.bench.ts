// Four gain maps over a 12 MP mosaic, one per colour site, megapixels a second of one core: with and without variance,
// and on stored codes. Blending the map's rows (a few dozen numbers a row) is left out.
import { bothKernels } from '../../../../test/kernels.ts'

const [WIDTH, HEIGHT, ROUNDS] = [4000, 3000, 9]
const plane = 4 * WIDTH * HEIGHT + 64
const { memory, plain, simd } = bothKernels(2 * plane + (1 << 20))
const [NODES, COLUMNS, GAINS, VALUES] = [1024, 4096, 65536, 131072]
const VARIANCE = VALUES + plane
memory.f32(NODES, 24).set(Array.from({ length: 24 }, (_, i) => 1 + ((i - 12) / 12) ** 2))
const index = memory.i32(COLUMNS, WIDTH)
const fraction = memory.f32(COLUMNS, WIDTH)
for (let k = 0; k < WIDTH / 2; k++) {
  index[2 * k] = Math.floor((k * 44) / WIDTH)
  fraction[2 * k + 1] = ((k * 44) / WIDTH) % 1
}

function shadeAll(kernels: typeof plain, work: 'values' | 'with variance' | 'stored'): void {
  for (let y = 0; y < HEIGHT; y++) {
    memory.f32(GAINS, WIDTH).fill(1)
    for (const first of [0, 1]) kernels.gainLine(GAINS, first, 2, WIDTH / 2, NODES, COLUMNS)
    if (work === 'stored') kernels.shadeCodes(VALUES + 2 * WIDTH * y, GAINS, WIDTH)
    else {
      const row = 4 * WIDTH * y
      kernels.shadeRow(VALUES + row, work === 'values' ? 0 : VARIANCE + row, GAINS, WIDTH)
    }
  }
}

for (const [name, kernels] of [
  ['plain', plain],
  ['SIMD', simd],
] as const)
  for (const work of ['values', 'with variance', 'stored'] as const) {
    const times: number[] = []
    for (let round = 0; round < ROUNDS; round++) {
      memory.f32(VALUES, WIDTH * HEIGHT).fill(0.1)
      memory.f32(VARIANCE, WIDTH * HEIGHT).fill(0.1)
      const start = performance.now()
      shadeAll(kernels, work)
      times.push(performance.now() - start)
    }
    times.sort((a, b) => a - b)
    const rate = (ms: number) => ((WIDTH * HEIGHT) / 1000 / ms).toFixed(0)
    console.log(`${name}, ${work}: median ${rate(times[ROUNDS >> 1]!)} Mpx/s, best ${rate(times[0]!)} Mpx/s`)
  }
