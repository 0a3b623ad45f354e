import { median, robustSpread } from '#core/base'
import { type Address, CELL, CELL_FLOATS, type Crew, type Task } from '#core/kernels'
import type { Pyramids } from './pyramids.ts'
import type { MergeFrame, MergeInput, Motion } from './types.ts'

export interface Ratio {
  readonly stops: number
  readonly solved: boolean
}

/** Cells needed, and how sure their median must be, before the pixels overrule the tags. */
const CELLS_NEEDED = 60
const SURE_STOPS = 0.005
/** Tags are rounded by up to 5 % (0.07 stop; third-stop series); a larger departure is something else and is not believed. */
const PLAUSIBLE_STOPS = 0.2
/** Signal over the read noise of one sample: high enough that choosing such cells by noisy values does not bend the ratio. */
const CLEAR = 10
const CLIPPED = 0.85
/** Cells looked at: more would not make a median surer than SURE_STOPS asks. */
const MOST_CELLS = 6_000

/** The cells of one frame's green, and what makes them linear. */
interface GreenCells {
  /** Cells of the plane that has the green. */
  readonly at: Address
  /** Indices of the two green phases in a cell, and their blacks and ranges. */
  readonly phases: readonly [number, number]
  readonly black: readonly [number, number]
  readonly range: readonly [number, number]
  readonly least: number
}

interface RatioParams {
  readonly width: number
  readonly height: number
  readonly columns: number
  readonly rows: number
  readonly reference: GreenCells
  readonly frames: readonly { readonly cells: GreenCells; readonly motion: Motion }[]
  /** f64 × 3 per frame: median of log₂ ratio, its sureness, cells. */
  readonly results: Address
}

const RESULT_WORDS = 3

/** Green of a place between cell centres, or NaN where any of the four cells is clipped or outside. */
function greenAt(cells: Float32Array, g: GreenCells, columns: number, rows: number, x: number, y: number): number {
  const x0 = Math.floor(x)
  const y0 = Math.floor(y)
  if (x0 < 0 || y0 < 0 || x0 + 1 >= columns || y0 + 1 >= rows) return Number.NaN
  let sum = 0
  for (let j = 0; j < 2; j++) {
    for (let i = 0; i < 2; i++) {
      const at = ((y0 + j) * columns + x0 + i) * CELL_FLOATS
      if ((cells[at + 4]! - g.black[1]) / g.range[1] > CLIPPED) return Number.NaN
      const a = (cells[at + g.phases[0]]! - g.black[0]) / g.range[0]
      const b = (cells[at + g.phases[1]]! - g.black[1]) / g.range[1]
      sum += 0.5 * (a + b) * (i ? x - x0 : 1 - x + x0) * (j ? y - y0 : 1 - y + y0)
    }
  }
  return sum
}

/** The ratio of one frame: log₂ of its green over the reference's, cell by cell. */
export const ratioTask: Task = ({ memory }, p: RatioParams, item) => {
  const { columns, rows } = p
  const { cells, motion } = p.frames[item]!
  const own = memory.f32(p.reference.at, columns * rows * CELL_FLOATS)
  const other = memory.f32(cells.at, columns * rows * CELL_FLOATS)
  const turn = (motion.rotationDegrees * Math.PI) / 180
  const [c, s] = [Math.cos(turn), Math.sin(turn)]
  const cx = p.width / CELL / 2 - 0.5
  const cy = p.height / CELL / 2 - 0.5
  const step = Math.max(1, Math.ceil(Math.sqrt((columns * rows) / MOST_CELLS)))
  const logs: number[] = []
  for (let y = 1; y < rows - 2; y += step) {
    for (let x = 1; x < columns - 2; x += step) {
      const dx = x - cx
      const dy = y - cy
      // The way there is halved between the two, so that both are read between cells alike and neither is smoother.
      const halfX = (c * dx - s * dy + motion.x / CELL - dx) / 2
      const halfY = (s * dx + c * dy + motion.y / CELL - dy) / 2
      const a = greenAt(own, p.reference, columns, rows, x - halfX, y - halfY)
      if (!(a > p.reference.least)) continue
      const b = greenAt(other, cells, columns, rows, x + halfX, y + halfY)
      if (b > cells.least) logs.push(Math.log2(b / a))
    }
  }
  const sureness = logs.length > 0 ? (1.25 * robustSpread(logs)) / Math.sqrt(logs.length) : Number.POSITIVE_INFINITY
  memory.f64(p.results + item * RESULT_WORDS * 8, RESULT_WORDS).set([median(logs), sureness, logs.length])
}

function greenCells(input: MergeInput, pyramids: Pyramids, k: number): GreenCells {
  const f: MergeFrame = input.frames[k]!
  const plane = input.cfa ? 0 : 1
  const phases: readonly [number, number] = input.cfa ? (input.cfa[0] === 1 ? [0, 3] : [1, 2]) : [0, 3]
  const [p, q] = input.cfa ? phases : [1, 1]
  return {
    at: pyramids.cells[k]! + plane * pyramids.cellColumns * pyramids.cellRows * CELL_FLOATS * 4,
    phases,
    black: [f.black[p]!, f.black[q]!],
    range: [f.range[p]!, f.range[q]!],
    least: CLEAR * Math.sqrt(f.noise[1].offset),
  }
}

/**
 * The exposure of every frame against the reference from cells that both recorded clearly and unclipped: the median of
 * the log ratio, so that what moved does not count. Shutter tags are nominal (0.6 s stands for 0.63 s).
 */
export async function solveRatios(
  crew: Crew,
  input: MergeInput,
  pyramids: Pyramids,
  motions: readonly Motion[],
): Promise<Ratio[]> {
  const mark = crew.arena.mark()
  const n = input.frames.length
  const results = crew.arena.alloc(n * RESULT_WORDS * 8)
  const params: RatioParams = {
    width: input.width,
    height: input.height,
    columns: pyramids.cellColumns,
    rows: pyramids.cellRows,
    reference: greenCells(input, pyramids, input.reference),
    frames: input.frames.map((_, k) => ({ cells: greenCells(input, pyramids, k), motion: motions[k]! })),
    results,
  }
  await crew.run('merge.ratio', params, n)
  const found = crew.arena.f64(results, n * RESULT_WORDS).slice()
  crew.arena.release(mark)
  return input.frames.map(({ nominalStops }, k) => {
    const [stops, sureness, cells] = found.subarray(k * RESULT_WORDS) as unknown as [number, number, number]
    const believed =
      k !== input.reference &&
      motions[k]!.found &&
      cells >= CELLS_NEEDED &&
      sureness < SURE_STOPS &&
      Math.abs(stops - nominalStops) <= PLAUSIBLE_STOPS
    return believed ? { stops, solved: true } : { stops: nominalStops, solved: false }
  })
}
