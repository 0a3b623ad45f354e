import { spawnSync } from 'node:child_process'
import { createHash } from 'node:crypto'
import { describe } from 'vitest'
import { createCodec, createFiles } from '#apps/io'
import { linearSrgbChromaticities, writeExr } from '#core/formats'
import { halfFromFloat } from '#core/kernels'
import type { Host } from '#jobs/contract'
import { finishTasks } from '#picture/finish'
import { testCrew } from './kernels.ts'

/** Is there such a program on this machine? Tests that ask another reader are skipped by name where it is absent. */
export const isThere = (program: string): boolean =>
  spawnSync('sh', ['-c', `command -v ${program}`], { stdio: 'ignore' }).status === 0

/** A group of tests that need a program of the system. */
export const describeWith = (program: string, title: string, tests: () => void): void => {
  const there = isThere(program)
  describe.skipIf(!there)(there ? title : `${title} (needs ${program})`, tests)
}

/** What a program says on standard output; it must end well. */
export function run(program: string, args: readonly string[], cwd?: string): Buffer {
  const done = spawnSync(program, args, { maxBuffer: 1 << 30, ...(cwd ? { cwd } : {}) })
  if (done.status !== 0) throw new Error(`${program} ${args.join(' ')}: ${done.status}\n${done.stderr}`)
  return done.stdout
}

/** A host over the real disk with a crew of one. */
export const onDisk = (over: Partial<Host> = {}): Host => ({
  files: createFiles(),
  codec: createCodec(),
  crew: async (bytes) => testCrew(finishTasks, bytes),
  md5: (bytes) => createHash('md5').update(bytes).digest('hex'),
  sha256: (bytes) => createHash('sha256').update(bytes).digest('hex'),
  progress() {},
  throwIfStopped() {},
  seconds: () => 0,
  version: '0.1.0',
  ...over,
})

/** A dim field that grows to the right, warm lamps far over white, and a saturated blue sign outside sRGB. */
export function nightLight(width: number, height: number): Float32Array[] {
  const colours = [
    [1, 0.62, 0.3],
    [-0.06, 0.2, 1.4],
  ] as const
  return [0, 1, 2].map((c) =>
    Float32Array.from({ length: width * height }, (_, i) => {
      const [x, y] = [i % width, Math.floor(i / width)]
      const lamp = (x % 50) - 25 === 0 ? 0 : Math.hypot((x % 50) - 25, (y % 40) - 20)
      const field = 0.004 * 2 ** ((6 * x) / width) * (1 + 0.2 * Math.sin(y / 7)) * [0.8, 0.9, 1.2][c]!
      const glow = 6 * Math.exp(-((lamp / 4) ** 2)) * colours[0][c]!
      const sign = Math.hypot(x - width * 0.7, y - height * 0.6) < 9 ? 0.5 * colours[1][c]! : 0
      return field + glow + sign
    }),
  )
}

/** Those planes as a radiance file; the halves are the truth that outside readers are asked for. */
export function nightExr(width: number, height: number): { bytes: Uint8Array; halves: Uint16Array[] } {
  const halves = nightLight(width, height).map((plane) => Uint16Array.from(plane, halfFromFloat))
  const channels = ['R', 'G', 'B'].map((name, c) => ({ name, samples: halves[c]! }))
  return { bytes: writeExr({ width, height, channels, chromaticities: linearSrgbChromaticities }), halves }
}
