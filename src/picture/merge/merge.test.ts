import { describe, expect, it } from 'vitest'
import { fitLine } from '#core/base'
import {
  type BracketPlan,
  bracketBytes,
  lantern,
  noiseOf,
  renderBracketMaster,
  simulateTasks,
  takeFrame,
} from '#picture/simulate'
import { testCrew } from '../../../test/kernels.ts'
import { mergeFrames, mergeTasks } from './index.ts'
import type { MergeFrame } from './types.ts'

const STEP = 2 / 3
/** Drift to ±7 px and 0.02°, as a small aircraft stands in light wind (common practice, no source). */
const DRIFT = [
  { x: -6.83, y: 3.21, rotationDegrees: 0.02 },
  { x: -3.37, y: -1.86, rotationDegrees: -0.013 },
  { x: 1.25, y: -4.61, rotationDegrees: 0.006 },
  { x: 0, y: 0, rotationDegrees: 0 },
  { x: 2.71, y: 6.9, rotationDegrees: -0.02 },
  { x: 4.44, y: 2.07, rotationDegrees: 0.011 },
  { x: 6.95, y: -5.48, rotationDegrees: 0.017 },
]

function plan(width: number, height: number, scene: BracketPlan['scene'], still = false): BracketPlan {
  return {
    scene,
    width,
    height,
    seed: 5,
    frames: DRIFT.map((motion, k) => ({
      statedSeconds: 0.25 * 2 ** ((k - 3) * STEP),
      ratio: 2 ** ((k - 3) * STEP),
      motion: still ? { x: 0, y: 0, rotationDegrees: 0 } : motion,
      camera: '2027-02-09T18:02:11',
      subSecond: 0,
    })),
  }
}

async function mergePlan(p: BracketPlan, known = false, kind: 'simd' | 'plain' = 'simd') {
  const { width, height } = p
  const crew = testCrew(
    { ...simulateTasks, ...mergeTasks },
    bracketBytes(p) + width * height * 2 * 8 + width * height * 24 + 20_000_000,
    kind,
  )
  const master = await renderBracketMaster(crew, p)
  const sensor = lantern.sensor
  const noise = noiseOf(sensor)
  const range = sensor.white - 256
  const at = p.frames.map(() => crew.arena.alloc(width * height * 2))
  for (let k = 0; k < p.frames.length; k++) {
    const mark = crew.arena.mark()
    const taken = await takeFrame(crew, master, p, k)
    crew.arena.u16(at[k]!, width * height).set(crew.arena.u16(taken.mosaic, width * height))
    crew.arena.release(mark)
  }
  const frames = p.frames.map(
    (f, k): MergeFrame => ({
      at: at[k]!,
      black: sensor.black,
      range: [range, range, range, range],
      noise: [noise, noise, noise],
      nominalStops: Math.log2(f.ratio),
    }),
  )
  const merged = await mergeFrames(
    crew,
    { width, height, cfa: sensor.cfa, frames, reference: 3 },
    known ? { motions: DRIFT.map((m) => ({ ...m, residualPixels: 0, found: true })) } : {},
  )
  return {
    crew,
    merged,
    master,
    mosaic: crew.arena.f32(merged.planes[0]!, width * height),
    variance: crew.arena.f32(merged.variance, width * height),
  }
}

const BLOCK = 32
/** Raised cosine over a block: its mean error is the noise of low frequency, with next to nothing of the rest. */
const windowAt = (i: number) => 1 - Math.cos((2 * Math.PI * (i + 0.5)) / BLOCK)

interface Block {
  readonly colour: number
  /** Weighted means over the block's samples of the colour: noiseless value, merged minus noiseless. */
  readonly truth: number
  readonly error: number
  /** Variance of such a mean at the inverse-variance bound: frames clipped there count for nothing. */
  readonly bound: number
}

/** Merges a plan and compares block by block with the noiseless picture, colour by colour. */
async function blocksOf(p: BracketPlan, known: boolean): Promise<{ blocks: Block[] }> {
  const { mosaic, master, crew } = await mergePlan(p, known)
  const { width, height } = p
  const { cfa } = lantern.sensor
  const { scale, offset: read } = noiseOf(lantern.sensor)
  // Rounding to whole codes adds a twelfth of a code's square to what the noise profile states.
  const offset = read + 1 / (12 * (lantern.sensor.white - 256) ** 2)
  const size = master.planeWidth * master.planeHeight
  const planes = crew.arena.f32(master.planes, size * 3)
  const blocks: Block[] = []
  for (let by = BLOCK; by + BLOCK <= height - BLOCK; by += BLOCK) {
    for (let bx = BLOCK; bx + BLOCK <= width - BLOCK; bx += BLOCK) {
      for (let colour = 0; colour < 3; colour++) {
        let weights = 0
        let truth = 0
        let error = 0
        let bound = 0
        for (let j = 0; j < BLOCK; j++) {
          for (let i = 0; i < BLOCK; i++) {
            const [x, y] = [bx + i, by + j]
            if (cfa[((y & 1) << 1) | (x & 1)] !== colour) continue
            const w = windowAt(i) * windowAt(j)
            const t = planes[colour * size + (y + master.margin) * master.planeWidth + x + master.margin]!
            weights += w
            truth += w * t
            error += w * (mosaic[y * width + x]! - t)
            const information = DRIFT.reduce((sum, _, k) => {
              const g = 2 ** (-(k - 3) * STEP)
              return t / g > 0.9 ? sum : sum + 1 / (g * scale * t + g * g * offset)
            }, 0)
            bound += (w * w) / information
          }
        }
        blocks.push({ colour, truth: truth / weights, error: error / weights, bound: bound / weights ** 2 })
      }
    }
  }
  return { blocks }
}

describe('a merged bracket of known truth', () => {
  it('finds drift to ±7 px and 0.02° to 0.05 px root mean square over the picture', async () => {
    const p = plan(1200, 900, { kind: 'waves', seed: 4, mean: 0.08 })
    const { merged } = await mergePlan(p)
    let total = 0
    let n = 0
    let worst = 0
    merged.frames.forEach((f, k) => {
      if (k === 3) return
      const truth = DRIFT[k]!
      for (const [dx, dy] of [
        [-600, -450],
        [600, -450],
        [0, 0],
        [-600, 450],
        [600, 450],
      ] as const) {
        const turn = ((f.motion.rotationDegrees - truth.rotationDegrees) * Math.PI) / 180
        const error = Math.hypot(f.motion.x - truth.x - turn * dy, f.motion.y - truth.y + turn * dx)
        worst = Math.max(worst, error)
        total += error * error
        n++
      }
    })
    console.log(`alignment: ${Math.sqrt(total / n).toFixed(4)} px root mean square, worst ${worst.toFixed(4)} px`)
    console.log(
      merged.frames
        .map(
          (f) =>
            `${f.motion.x.toFixed(3)} ${f.motion.y.toFixed(3)} ${f.motion.rotationDegrees.toFixed(4)} res ${f.motion.residualPixels?.toFixed(3)} ratio ${f.ratioStops.toFixed(4)}`,
        )
        .join('\n'),
    )
    expect(Math.sqrt(total / n)).toBeLessThan(0.05)
  })

  it('has the truth’s slope to 0.5 % and no intercept, shadows included', async () => {
    const truths: number[] = []
    const values: number[] = []
    for (const mean of [0.0008, 0.004, 0.02, 0.1, 0.3]) {
      const { blocks } = await blocksOf(plan(640, 480, { kind: 'waves', seed: 9, mean }), false)
      for (const b of blocks) {
        truths.push(b.truth)
        values.push(b.truth + b.error)
      }
    }
    const line = fitLine(
      truths,
      values,
      truths.map((t) => 1 / t),
    )
    const dark = truths.map((t, i) => [t, values[i]!] as const).filter(([t]) => t < 0.006)
    const shadows = fitLine(
      dark.map(([t]) => t),
      dark.map(([, v]) => v),
    )
    console.log(
      `slope ${line.slope.toFixed(5)}, intercept ${line.intercept.toExponential(2)}; shadows alone: slope ${shadows.slope.toFixed(4)}, intercept ${shadows.intercept.toExponential(2)}`,
    )
    expect(Math.abs(line.slope - 1)).toBeLessThan(0.005)
    expect(Math.abs(shadows.slope - 1)).toBeLessThan(0.005)
    // A hundredth of the darkest scene's mean.
    expect(Math.max(Math.abs(line.intercept), Math.abs(shadows.intercept))).toBeLessThan(8e-6)
  })

  it('has noise within 5 % of the inverse-variance bound in flat areas, at low frequency, from deep shadow to near saturation', async () => {
    let worst = 0
    const rows: string[] = []
    for (const level of [0.0005, 0.005, 0.05, 0.6]) {
      const { blocks } = await blocksOf(plan(1600, 1200, { kind: 'bands', bands: 1, low: level, high: level }), true)
      for (const colour of [0, 1, 2]) {
        const own = blocks.filter((b) => b.colour === colour)
        // A level in the onset of clipping of some frame is neither used nor unused there.
        if (DRIFT.some((_, k) => Math.abs(own[0]!.truth * 2 ** ((k - 3) * STEP) - 0.92) < 0.07)) continue
        const ratio = Math.sqrt(own.reduce((a, b) => a + b.error ** 2, 0) / own.reduce((a, b) => a + b.bound, 0))
        const bias = own.reduce((a, b) => a + b.error, 0) / own.length / own[0]!.truth
        rows.push(
          `level ${level} ${'RGB'[colour]}: noise ${ratio.toFixed(3)} of the bound, bias ${(100 * bias).toFixed(3)} %`,
        )
        worst = Math.max(worst, ratio - 1)
      }
    }
    console.log(rows.join('\n'))
    console.log(`noise over the bound at worst: ${(worst * 100).toFixed(1)} %`)
    expect(worst).toBeLessThan(0.05)
  })
})
