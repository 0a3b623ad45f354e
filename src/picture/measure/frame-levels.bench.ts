// All that one 12 MP frame's levels take, in milliseconds of one core (CPU time: other work on the machine does not count), and its parts. The frame is a made town with noise.
import { seededRandom } from '#core/base'
import { CELL_FLOATS, GRAIN_FLOATS, LEVEL_BINS, SCRATCH_BYTES } from '#core/kernels'
import { bothKernels } from '../../../test/kernels.ts'
import { rowBanding } from './black.ts'
import { bracketLevels } from './bracket-levels.ts'
import { followUprights } from './follow-uprights.ts'
import { frameLevels, lightGrid } from './frame-levels.ts'
import type { LevelFrame } from './level-frame.ts'
import { madeBracket } from './made-bracket.fixture.ts'

const [width, height, rounds] = [4000, 3000, 9]
const { memory, plain, simd } = bothKernels(SCRATCH_BYTES + 2 * width * height + (1 << 23))
const at = 1024 + SCRATCH_BYTES
const light = at + 2 * width * height + 4096
const random = seededRandom(1)
const samples = memory.u16(at, width * height)
const normals = Float32Array.from({ length: 65_521 }, () => random.normal())
for (let y = 0; y < height; y++)
  for (let x = 0; x < width; x++) {
    const wall = ((x / 90) | 0) * 7919 + ((y / 130) | 0) * 104_729
    const level = 40 + 900 * ((wall % 97) / 97) ** 3 + (wall % 61 === 0 ? 4000 : 0)
    const i = y * width + x
    samples[i] = Math.min(
      4095,
      Math.max(0, Math.round(256 + level + Math.sqrt(4 + 0.6 * level) * normals[i % 65_521]!)),
    )
  }
const frame: LevelFrame = {
  ...{ at, width, height, cfa: [0, 1, 1, 2], black: [256, 256, 256, 256], white: 4095, range: 3839, profile: null },
}

function timed(name: string, work: () => void): void {
  const times = Array.from({ length: rounds }, () => {
    const start = process.cpuUsage()
    work()
    const { user, system } = process.cpuUsage(start)
    return (user + system) / 1000
  }).sort((a, b) => a - b)
  console.log(`${name}: median ${times[rounds >> 1]!.toFixed(1)} ms, best ${times[0]!.toFixed(1)} ms`)
}

const [one, two] = [1024, 1 << 20]
timed('countLevels, 0.8 M blocks', () => simd.countLevels(at, width, 0, height >> 1, 3, 0, one))
memory.u16(one, 4).fill(4090)
timed('countClipped', () => simd.countClipped(at, width, 0, height, one, one + 64))
timed('cellRow', () => {
  for (let y = 0; y < Math.ceil(height / 16); y++) simd.cellRow(at, width, height, y, two + y * 250 * CELL_FLOATS * 4)
})
timed('grainBlocks, 4096', () => {
  for (let r = 0; r < 60; r++) simd.grainBlocks(at, width, 0, r * 48, 48, 68, two + r * 68 * GRAIN_FLOATS * 4)
})
timed('quarterRows', () => simd.quarterRows(at, width, 0, height >> 2, two, 4096, 1.5, 50))
const picture = { pixels: memory.f32(two, (width * height) >> 4), width: width >> 2, height: height >> 2 }
timed('edges', () => void followUprights({ ...picture, across: 1, down: width >> 2 }, 23))
timed('row banding', () => void rowBanding(samples, width, height))
for (const [name, kernels] of [
  ['whole frame, SIMD', simd],
  ['whole frame, plain', plain],
] as const)
  timed(name, () => {
    const context = { kernels, memory, scratch: 1024, scratchBytes: SCRATCH_BYTES }
    frameLevels(context, { frame, orientation: 1, gimbalRoll: null, light })
  })
console.log(`bins ${LEVEL_BINS}, cells ${lightGrid(width, height).cells}`)

const bracket = madeBracket(
  [0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1].map((seconds) => ({ seconds })),
  1,
).map((own) => ({
  levels: null,
  light: own,
  exposureSeconds: 2 ** own.exposureStops,
  iso: 100,
  exposureStops: own.exposureStops,
}))
timed('a bracket of seven frames held against each other', () => void bracketLevels(bracket))
