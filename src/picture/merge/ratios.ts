import { median, robustSpread } from '#core/base'
import { CELL, CELL_FLOATS, type Memory } from '#core/kernels'
import type { Pyramids } from './pyramids.ts'
import type { MergeInput, Motion } from './types.ts'

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

/** Linear green of a cell, bilinear between cell centres, or NaN where any of the four is clipped or outside. */
function cellGreen(memory: Memory, pyramids: Pyramids, input: MergeInput, k: number) {
  const { cellColumns: columns, cellRows: rows } = pyramids
  const f = input.frames[k]!
  const plane = input.cfa ? 0 : 1
  const cells = memory.f32(pyramids.cells[k]! + plane * columns * rows * CELL_FLOATS * 4, columns * rows * CELL_FLOATS)
  const [a, b] = input.cfa ? (input.cfa[0] === 1 ? [0, 3] : [1, 2]) : [0, 3]
  const [p, q] = input.cfa ? [a, b] : [1, 1]
  const at = (x: number, y: number) => {
    const i = (y * columns + x) * CELL_FLOATS
    if ((cells[i + 4]! - f.black[q]!) / f.range[q]! > CLIPPED) return Number.NaN
    return 0.5 * ((cells[i + a]! - f.black[p]!) / f.range[p]! + (cells[i + b]! - f.black[q]!) / f.range[q]!)
  }
  return (x: number, y: number) => {
    const x0 = Math.floor(x)
    const y0 = Math.floor(y)
    if (x0 < 0 || y0 < 0 || x0 + 1 >= columns || y0 + 1 >= rows) return Number.NaN
    const u = x - x0
    const v = y - y0
    return (
      (at(x0, y0) * (1 - u) + at(x0 + 1, y0) * u) * (1 - v) + (at(x0, y0 + 1) * (1 - u) + at(x0 + 1, y0 + 1) * u) * v
    )
  }
}

/**
 * The exposure of every frame against the reference from cells that both recorded clearly and unclipped: the median of
 * the log ratio, so that what moved does not count. Shutter tags are nominal (0.6 s stands for 0.63 s).
 */
export function solveRatios(
  memory: Memory,
  input: MergeInput,
  pyramids: Pyramids,
  motions: readonly Motion[],
): Ratio[] {
  const own = cellGreen(memory, pyramids, input, input.reference)
  const noiseFloor = (k: number) => CLEAR * Math.sqrt(input.frames[k]!.noise[1].offset)
  return input.frames.map((frame, k) => {
    const nominal = { stops: frame.nominalStops, solved: false }
    const motion = motions[k]!
    if (k === input.reference || !motion.found) return nominal
    const other = cellGreen(memory, pyramids, input, k)
    const turn = (motion.rotationDegrees * Math.PI) / 180
    const cx = input.width / CELL / 2 - 0.5
    const cy = input.height / CELL / 2 - 0.5
    const logs: number[] = []
    for (let y = 1; y < pyramids.cellRows - 2; y++) {
      for (let x = 1; x < pyramids.cellColumns - 2; x++) {
        const dx = x - cx
        const dy = y - cy
        // The way there is halved between the two, so that both are read between cells alike and neither is smoother.
        const halfX = (Math.cos(turn) * dx - Math.sin(turn) * dy + motion.x / CELL - dx) / 2
        const halfY = (Math.sin(turn) * dx + Math.cos(turn) * dy + motion.y / CELL - dy) / 2
        const a = own(x - halfX, y - halfY)
        if (!(a > noiseFloor(input.reference))) continue
        const b = other(x + halfX, y + halfY)
        if (b > noiseFloor(k)) logs.push(Math.log2(b / a))
      }
    }
    if (logs.length < CELLS_NEEDED) return nominal
    const stops = median(logs)
    const sureness = (1.25 * robustSpread(logs)) / Math.sqrt(logs.length)
    if (!(sureness < SURE_STOPS) || Math.abs(stops - frame.nominalStops) > PLAUSIBLE_STOPS) return nominal
    return { stops, solved: true }
  })
}
