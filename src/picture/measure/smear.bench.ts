import { bothKernels } from '../../../test/kernels.ts'
import { measureSmear } from './index.ts'
import { madeNight, SENSOR, straight } from './smear.fixture.ts'

// A 12 MP frame as a night has them; made once, measured many times on one thread.
const [width, height] = [4000, 3000]
const at = 32 << 20
const { simd, memory } = bothKernels(at + 2 * width * height + (1 << 20))
const b = SENSOR.black
for (const length of [0.5, 2, 5, 10]) {
  const path = straight(length, 35)
  memory.u16(at, width * height).set(madeNight({ width, height, seed: 7, path, lensSigma: 0.8, lamps: 700, lines: 40 }))
  const view = { at, width, height, cfa: [0, 1, 1, 2] as const, black: [b, b, b, b] as const, white: SENSOR.white }
  const times: number[] = []
  for (let round = 0; round < 15; round++) {
    const start = performance.now()
    measureSmear({ kernels: simd, memory, scratch: 1024, scratchBytes: 24 << 20 }, view)
    times.push(performance.now() - start)
  }
  const typical = times.sort((x, y) => x - y)[7]!
  console.log(
    `smear of ${length} px, 12 MP, one thread: best ${times[0]!.toFixed(1)} ms, typical ${typical.toFixed(1)} ms`,
  )
}
