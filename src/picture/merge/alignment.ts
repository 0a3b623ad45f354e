import { quantile } from '#core/base'
import {
  type Address,
  ALIGN_SUMS,
  type Crew,
  cubicTable,
  type Memory,
  type Task,
  type TaskContext,
} from '#core/kernels'
import type { Pyramids } from './pyramids.ts'
import type { MergeInput, Motion } from './types.ts'

/** Motion at the picture's centre in pixels of some level, and the turn in radians. */
interface Pose {
  readonly x: number
  readonly y: number
  readonly turn: number
}

interface AlignParams {
  readonly width: number
  readonly height: number
  readonly levels: Pyramids['levels']
  readonly reference: readonly Address[]
  readonly frames: readonly { pictures: readonly Address[]; ceiling: number; sigma: number }[]
  readonly table: Address
  /** f64 × RESULT_WORDS per frame. */
  readonly results: Address
}

const RESULT_WORDS = 6
/** Steps at most per level, finest first; the last level alone decides the result, the others only start it. */
const STEPS = [4, 2, 4, 8]
/** Half-size pixels: after a step shorter than this the next would be far below what noise allows. */
const SETTLED = 0.01
/** Shifts tried by comparison at the smallest level, each way, in its pixels. */
const SEARCH = 4
const TILE_COLUMNS = 8
const TILE_ROWS = 6

/** Solves the symmetric 3×3 system of one step; null when it is not determined. */
function solveStep(s: Float64Array): readonly [number, number, number] | null {
  const [xx, xy, xt, yy, yt, tt, rx, ry, rt] = s as unknown as [
    number,
    number,
    number,
    number,
    number,
    number,
    number,
    number,
    number,
  ]
  // Cholesky, with the turn's column scaled like the others by its own diagonal.
  if (!(xx > 0) || !(yy > 0) || !(tt > 0)) return null
  const l00 = Math.sqrt(xx)
  const l10 = xy / l00
  const l20 = xt / l00
  const d1 = yy - l10 * l10
  if (!(d1 > 1e-9 * yy)) return null
  const l11 = Math.sqrt(d1)
  const l21 = (yt - l20 * l10) / l11
  const d2 = tt - l20 * l20 - l21 * l21
  if (!(d2 > 1e-9 * tt)) return null
  const l22 = Math.sqrt(d2)
  const a = rx / l00
  const b = (ry - l10 * a) / l11
  const c = (rt - l20 * a - l21 * b) / l22
  const t = c / l22
  const y = (b - l21 * t) / l11
  return [(a - l10 * y - l20 * t) / l00, y, t]
}

/** One level of one pair: everything a sum needs. */
interface Pair {
  readonly reference: Address
  readonly moving: Address
  readonly width: number
  readonly height: number
  readonly cx: number
  readonly cy: number
  readonly ceiling: number
}

function sums(
  context: TaskContext,
  p: AlignParams,
  pair: Pair,
  pose: Pose,
  tau: number,
  box = [2, pair.width - 2, 2, pair.height - 2],
): Float64Array {
  const motion = context.scratch
  const out = context.scratch + 64
  context.memory.f32(motion, 6).set([Math.cos(pose.turn), Math.sin(pose.turn), pose.x, pose.y, pair.cx, pair.cy])
  const view = context.memory.f64(out, ALIGN_SUMS)
  view.fill(0)
  context.kernels.alignSums(
    pair.reference,
    pair.moving,
    pair.width,
    pair.height,
    box[0]!,
    box[1]!,
    box[2]!,
    box[3]!,
    motion,
    p.table,
    tau,
    pair.ceiling,
    out,
  )
  return view
}

/** The whole-pixel shift at the smallest level with the least mean difference over unclipped pixels. */
function search(memory: Memory, pair: Pair): Pose {
  const { width, height } = pair
  const a = memory.f32(pair.reference, width * height)
  const b = memory.f32(pair.moving, width * height)
  let best = Number.POSITIVE_INFINITY
  let pose: Pose = { x: 0, y: 0, turn: 0 }
  for (let dy = -SEARCH; dy <= SEARCH; dy++) {
    for (let dx = -SEARCH; dx <= SEARCH; dx++) {
      let sum = 0
      let n = 0
      for (let y = Math.max(0, -dy); y < Math.min(height, height - dy); y++) {
        for (let x = Math.max(0, -dx); x < Math.min(width, width - dx); x++) {
          const u = a[y * width + x]!
          const v = b[(y + dy) * width + x + dx]!
          if (u >= pair.ceiling || v >= pair.ceiling) continue
          sum += Math.abs(u - v)
          n++
        }
      }
      // A slight preference for small shifts decides between equals, as in a plain sky.
      const cost = n > (width * height) / 8 ? (sum / n) * (1 + 0.002 * Math.hypot(dx, dy)) : Number.POSITIVE_INFINITY
      if (cost < best) {
        best = cost
        pose = { x: dx, y: dy, turn: 0 }
      }
    }
  }
  return pose
}

/** Gauss–Newton at one level from a start; `found` is false when the sums never determined a step. */
function refine(context: TaskContext, p: AlignParams, pair: Pair, start: Pose, sigma: number, steps: number) {
  let pose = start
  let found = false
  let tau = 1e3
  for (let i = 0; i < steps; i++) {
    const s = sums(context, p, pair, pose, tau)
    const rms = Math.sqrt(s[10]! / Math.max(s[9]!, 1e-9))
    const step = solveStep(s)
    if (!step || s[9]! < 64) break
    // Never trust a step longer than the interpolation's reach; the next one starts from there.
    const length = Math.hypot(step[0], step[1])
    const k = length > 2 ? 2 / length : 1
    pose = stepped(pose, step, k)
    found = true
    const edge = Math.abs(k * step[2]) * pair.width * 0.5
    if (tau < 1e3 && length < 0.01 && edge < 0.02) break
    tau = Math.max(3 * sigma, 1.5 * rms)
  }
  return { pose, found }
}

/**
 * The finest level by tiles, every second one as on a chessboard, black and white in turn: half the picture says all there
 * is to say, and the next step hears the other half. Sums of all, and of each tile.
 */
function tileSums(context: TaskContext, p: AlignParams, pair: Pair, pose: Pose, tau: number, colour: number) {
  const whole = new Float64Array(ALIGN_SUMS)
  const tiles: { readonly sums: Float64Array; readonly i: number; readonly j: number }[] = []
  for (let j = 0; j < TILE_ROWS; j++) {
    for (let i = 0; i < TILE_COLUMNS; i++) {
      if (((i + j) & 1) !== colour) continue
      const s = sums(context, p, pair, pose, tau, [
        Math.max(2, Math.floor((i * pair.width) / TILE_COLUMNS)),
        Math.min(pair.width - 2, Math.floor(((i + 1) * pair.width) / TILE_COLUMNS)),
        Math.max(2, Math.floor((j * pair.height) / TILE_ROWS)),
        Math.min(pair.height - 2, Math.floor(((j + 1) * pair.height) / TILE_ROWS)),
      ]).slice()
      tiles.push({ sums: s, i, j })
      s.forEach((v, k) => {
        whole[k]! += v
      })
    }
  }
  return { whole, tiles }
}

/**
 * What is left in the tiles after the step that the whole picture asks for, in full-resolution pixels, over the tiles that
 * determine a shift to 0.05 px: the root mean square that four fifths of them would have. A tile of smooth sky mistakes a
 * brightness that is a little off for a shift of pixels, and must not speak for the rest.
 */
function residualOf(
  tiles: ReturnType<typeof tileSums>['tiles'],
  pair: Pair,
  step: readonly [number, number, number],
): number | null {
  const squares: number[] = []
  for (const { sums: s, i, j } of tiles) {
    const [xx, xy, yy, rx, ry] = [s[0]!, s[1]!, s[3]!, s[6]!, s[7]!]
    const det = xx * yy - xy * xy
    const variance = s[10]! / Math.max(s[9]!, 1)
    if (!(det > 0) || variance * Math.max(xx, yy) > (0.05 / 2) ** 2 * det) continue
    // The step's turn moves a tile's middle sideways.
    const dx = ((i + 0.5) * pair.width) / TILE_COLUMNS - pair.cx
    const dy = ((j + 0.5) * pair.height) / TILE_ROWS - pair.cy
    const x = (yy * rx - xy * ry) / det - (step[0] - step[2] * dy)
    const y = (xx * ry - xy * rx) / det - (step[1] + step[2] * dx)
    squares.push(4 * (x * x + y * y))
  }
  // Squares of a shift that is off at random fall off exponentially: a fifth is above ln 5 times their mean.
  return squares.length > 0 ? Math.sqrt(quantile(squares, 0.8) / Math.log(5)) : null
}

/** The pose one step on. */
function stepped(pose: Pose, step: readonly [number, number, number], k = 1): Pose {
  const turn = pose.turn - k * step[2]
  const [c, s] = [Math.cos(turn), Math.sin(turn)]
  return { x: pose.x - k * (c * step[0] - s * step[1]), y: pose.y - k * (s * step[0] + c * step[1]), turn }
}

export const alignTask: Task = (context, p: AlignParams, item) => {
  const frame = p.frames[item]!
  const pairAt = (level: number): Pair => ({
    reference: p.reference[level]!,
    moving: frame.pictures[level]!,
    ...p.levels[level]!,
    // The centre of the full picture in this level's pixels.
    cx: p.width / 2 ** (level + 2) - 0.5,
    cy: p.height / 2 ** (level + 2) - 0.5,
    ceiling: frame.ceiling,
  })
  const last = p.levels.length - 1
  const still: Pose = { x: 0, y: 0, turn: 0 }
  let pose = search(context.memory, pairAt(last))
  let found = false
  for (let level = last; level >= 1; level--) {
    const refined = refine(
      context,
      p,
      pairAt(level),
      pose,
      frame.sigma / 2 ** level,
      STEPS[Math.min(level, STEPS.length - 1)]!,
    )
    if (refined.found) {
      pose = refined.pose
      found = true
    }
    // Judged where it is cheap; with few levels that is the last one here.
    if (level === Math.min(2, last) && found) {
      // A motion that explains the pixels worse than none at all was not found.
      const cost = (q: Pose) => {
        const s = sums(context, p, pairAt(level), q, 3 * frame.sigma + 0.02)
        return s[9]! > 0 ? s[10]! / s[9]! : Number.POSITIVE_INFINITY
      }
      found = cost(pose) <= cost(still) * 1.001
    }
    if (!found) pose = still
    pose = { x: pose.x * 2, y: pose.y * 2, turn: pose.turn }
  }
  const finest = pairAt(0)
  const tau = 3 * frame.sigma + 0.01
  let residual: number | null = null
  for (let i = 0; i < STEPS[0]!; i++) {
    const { whole, tiles } = tileSums(context, p, finest, pose, tau, i & 1)
    const step = whole[9]! >= 64 ? solveStep(whole) : null
    if (!step || Math.hypot(step[0], step[1]) > 2) break
    pose = stepped(pose, step)
    found = true
    residual = residualOf(tiles, finest, step)
    if (i > 0 && Math.hypot(step[0], step[1]) < SETTLED && Math.abs(step[2]) * finest.width < 2 * SETTLED) break
  }
  context.memory
    .f64(p.results + item * RESULT_WORDS * 8, RESULT_WORDS)
    .set([2 * pose.x, 2 * pose.y, pose.turn, residual ?? -1, found ? 1 : 0, 0])
}

/** The motion of every frame against the reference. */
export async function alignFrames(crew: Crew, input: MergeInput, pyramids: Pyramids): Promise<Motion[]> {
  const { frames, reference } = input
  const mark = crew.arena.mark()
  const table = crew.arena.alloc(cubicTable().byteLength)
  crew.arena.f32(table, cubicTable().length).set(cubicTable())
  const results = crew.arena.alloc(frames.length * RESULT_WORDS * 8)
  const others = frames.map((_, k) => k).filter((k) => k !== reference)
  const gain = (k: number) => 2 ** -frames[k]!.nominalStops
  const sigma = (k: number) => Math.sqrt((gain(k) * frames[k]!.noise[1].scale) / 8)
  // Where the longer exposure of a pair clips, a little below for the interpolation's sake.
  const ceiling = (k: number) => Math.sqrt(0.92 * Math.min(gain(k), gain(reference)) + pyramids.offset)
  const params: AlignParams = {
    width: input.width,
    height: input.height,
    levels: pyramids.levels,
    reference: pyramids.pictures[reference]!,
    frames: others.map((k) => ({
      pictures: pyramids.pictures[k]!,
      ceiling: ceiling(k),
      sigma: Math.hypot(sigma(k), sigma(reference)),
    })),
    table,
    results,
  }
  await crew.run('merge.align', params, others.length)
  const still: Motion = { x: 0, y: 0, rotationDegrees: 0, residualPixels: 0, found: true }
  const motions = frames.map(() => still)
  others.forEach((k, i) => {
    const [x, y, turn, residual, found] = crew.arena.f64(
      results + i * RESULT_WORDS * 8,
      RESULT_WORDS,
    ) as unknown as number[]
    motions[k] = {
      x: x!,
      y: y!,
      rotationDegrees: (turn! * 180) / Math.PI,
      residualPixels: residual! < 0 ? null : residual!,
      found: found === 1,
    }
  })
  crew.arena.release(mark)
  return motions
}
