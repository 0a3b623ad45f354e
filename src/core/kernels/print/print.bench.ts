// Print of 12 MP, megapixels a second of one core, row by row as the finish room runs it. Filling the planes does not
// count. The plain kernels are timed on a twelfth of the rows: they are the definition, not meant for speed.
import { seededRandom } from '#core/base'
import { bothKernels } from '../../../../test/kernels.ts'
import type { Kernels } from '../table.ts'
import { printConstant } from './print.ts'

const WIDTH = 4000
const HEIGHT = 3000
const STEP = 8
const PLANE = WIDTH * HEIGHT * 4 + 128
const { memory, plain, simd } = bothKernels(3 * PLANE + WIDTH * HEIGHT * 3 + (4 << 20))
const start = 3 * PLANE + 1024
const [r, g, b] = [1024, 1024 + PLANE, 1024 + 2 * PLANE] as const
const [cells, tone, constants, er, eg, eb, out] = [0, 1, 2, 3, 4, 5, 6].map((i) => start + i * 65536) as [
  number,
  number,
  number,
  number,
  number,
  number,
  number,
]

/** A dim noisy field with a lamp every 400 pixels: most pixels take the quick path, some the rare one. */
function fill(): void {
  const random = seededRandom(1)
  for (const [plane, gain] of [
    [r, 1],
    [g, 0.7],
    [b, 0.5],
  ] as const) {
    const samples = memory.f32(plane, WIDTH * HEIGHT)
    for (let i = 0; i < samples.length; i++) {
      const lamp = i % 400 < 8 ? 30 : 0.02
      samples[i] = gain * (lamp + 0.002 * random.uniform())
    }
  }
  memory.f32(cells, 2048).set(Array.from({ length: 512 }, () => [0.8, 0.5, 1, 1]).flat())
  const table = memory.f32(tone, 20 * 64)
  for (let i = 0; i < table.length; i++) table[i] = Math.min(2 ** (-11 + i / 64), 1)
  const c = memory.f32(constants, printConstant.length)
  c.set([-11, 64, table.length - 1.001, 1e-6, 0, 1e-8, 7e-4, 0.7, Math.cbrt(0.7), 0.9])
}

function time(kernels: Kernels, rows: number, rounds: number, work: (kernels: Kernels, y: number) => void): number {
  const times: number[] = []
  for (let round = 0; round < rounds; round++) {
    const from = performance.now()
    for (let y = 0; y < rows; y++) work(kernels, y)
    times.push(performance.now() - from)
  }
  return (times.sort((p, q) => p - q)[rounds >> 1]! * HEIGHT) / rows
}

const at = (plane: number, y: number) => plane + y * WIDTH * 4
const stages: readonly (readonly [string, (k: Kernels, y: number) => void])[] = [
  ['cells', (k, y) => y % STEP || k.printCells(at(r, y), at(g, y), at(b, y), WIDTH, STEP, WIDTH, STEP, out)],
  ['moments', (k, y) => y % STEP || k.printMoments(at(r, y), at(g, y), at(b, y), WIDTH, STEP, WIDTH, STEP, 1e-6, out)],
  ['tone', (k, y) => k.printTone(at(r, y), at(g, y), at(b, y), WIDTH, cells, STEP, tone, constants, er, eg, eb)],
  ['8-bit codes', (k, y) => k.printCode8(er, eg, eb, WIDTH, y, out + y * WIDTH * 3)],
  ['16-bit codes', (k) => k.printCode16(er, eg, eb, WIDTH, out)],
]

fill()
for (const [name, work] of stages) {
  const fast = time(simd, HEIGHT, 7, work)
  const slow = time(plain, HEIGHT / 12, 1, work)
  const mpx = (ms: number) => ((WIDTH * HEIGHT) / ms / 1000).toFixed(0)
  console.log(
    `print ${name}: SIMD ${fast.toFixed(0)} ms (${mpx(fast)} Mpx/s), plain ${slow.toFixed(0)} ms (${mpx(slow)} Mpx/s)`,
  )
}
