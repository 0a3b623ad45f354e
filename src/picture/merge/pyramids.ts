import { type Address, CELL, CELL_FLOATS, type Crew, type Task } from '#core/kernels'
import { cfaAt } from '#core/pixels'
import type { MergeInput } from './types.ts'

/** Reduced pictures of all frames: level 0 is half size, each next half of that; and cell means. */
export interface Pyramids {
  readonly levels: readonly { readonly width: number; readonly height: number }[]
  /** [frame][level] → f32 picture: √(green in reference units + offset). */
  readonly pictures: readonly (readonly Address[])[]
  /** Mark of the memory from which the pictures stand, above the cells. */
  readonly picturesFrom: Address
  readonly cellColumns: number
  readonly cellRows: number
  /** [frame] → f32 × CELL_FLOATS per cell per plane: raw means of the phases and the largest sample. */
  readonly cells: readonly Address[]
  readonly cellPlanes: number
  /** What was added under the square root, in reference units. */
  readonly offset: number
}

const STRIP = 64
/** The smallest level keeps at least this many pixels on its short side. */
const SMALLEST = 24

interface LumaParams {
  readonly width: number
  readonly height: number
  readonly strips: number
  readonly frames: readonly {
    green: Address
    first: Address
    picture: Address
    cells: Address
    blackSum: number
    gain: number
  }[]
  readonly offset: number
  readonly greenFirst: number
  readonly cellPlanes: number
  readonly cellColumns: number
  readonly cellRows: number
}

/** One strip of one frame: half-size rows and the cell rows under them. */
export const lumaTask: Task = ({ kernels }, p: LumaParams, item) => {
  const frame = p.frames[Math.floor(item / p.strips)]!
  const strip = item % p.strips
  const y0 = strip * STRIP
  const y1 = Math.min(p.height >> 1, y0 + STRIP)
  if (y1 > y0)
    kernels.halfLumaRows(
      frame.green,
      p.width,
      y0,
      y1,
      frame.picture,
      p.greenFirst,
      frame.blackSum,
      frame.gain,
      p.offset,
    )
  const perStrip = (2 * STRIP) / CELL
  const rowBytes = p.cellColumns * CELL_FLOATS * 4
  for (let c = strip * perStrip; c < Math.min(p.cellRows, (strip + 1) * perStrip); c++) {
    for (let plane = 0; plane < p.cellPlanes; plane++) {
      const at = frame.cells + (plane * p.cellRows + c) * rowBytes
      kernels.cellRow(frame.first + plane * p.width * p.height * 2, p.width, p.height, c, at)
    }
  }
}

interface PyramidParams {
  readonly levels: Pyramids['levels']
  readonly pictures: Pyramids['pictures']
}

export const pyramidTask: Task = ({ kernels, scratch }, p: PyramidParams, item) => {
  const finest = p.levels[0]!
  // Half-size green of a mosaic is aliased: unsmoothed, motion came out up to 0.02 px and 0.001° off.
  kernels.smoothPicture(p.pictures[item]![0]!, finest.width, finest.height, scratch)
  for (let l = 1; l < p.levels.length; l++) {
    const from = p.levels[l - 1]!
    kernels.halveRows(p.pictures[item]![l - 1]!, from.width, from.height, 0, p.levels[l]!.height, p.pictures[item]![l]!)
  }
}

/** Builds the reduced pictures of every frame in newly allocated memory. */
export async function buildPyramids(crew: Crew, input: MergeInput): Promise<Pyramids> {
  const { width, height, cfa, frames } = input
  const levels = [{ width: width >> 1, height: height >> 1 }]
  for (;;) {
    const last = levels.at(-1)!
    if (Math.min(last.width, last.height) < 2 * SMALLEST) break
    levels.push({ width: last.width >> 1, height: last.height >> 1 })
  }
  const cellColumns = Math.ceil(width / CELL)
  const cellRows = Math.ceil(height / CELL)
  const cellPlanes = cfa ? 1 : 3
  const cells = frames.map(() => crew.arena.alloc(cellPlanes * cellColumns * cellRows * CELL_FLOATS * 4))
  // Cells first: they outlive the pictures, whose memory is given back after alignment.
  const picturesFrom = crew.arena.mark()
  const pictures = frames.map(() => levels.map((l) => crew.arena.alloc(l.width * l.height * 4)))
  const gains = frames.map((f) => 2 ** -f.nominalStops)
  // One offset for all, the read noise of the noisiest frame in units of its shot noise, so that pictures compare.
  const offset = Math.max(...frames.map((f, k) => (gains[k]! * f.noise[1].offset) / Math.max(f.noise[1].scale, 1e-9)))
  const greenFirst = cfa && cfaAt(cfa, 0, 0) === 1 ? 1 : 0
  const params: LumaParams = {
    width,
    height,
    strips: Math.ceil(height / (2 * STRIP)),
    frames: frames.map((f, k) => {
      // The two green phases of a mosaic; the green plane has but one black.
      const [black, range] = cfa
        ? greenFirst
          ? [f.black[0] + f.black[3], f.range[0]]
          : [f.black[1] + f.black[2], f.range[1]]
        : [2 * f.black[1], f.range[1]]
      return {
        green: cfa ? f.at : f.at + width * height * 2,
        first: f.at,
        picture: pictures[k]![0]!,
        cells: cells[k]!,
        blackSum: black,
        gain: (0.5 * gains[k]!) / range,
      }
    }),
    offset,
    greenFirst,
    cellPlanes,
    cellColumns,
    cellRows,
  }
  await crew.run('merge.luma', params, params.strips * frames.length)
  await crew.run('merge.pyramid', { levels, pictures } satisfies PyramidParams, frames.length)
  return { levels, pictures, picturesFrom, cellColumns, cellRows, cells, cellPlanes, offset }
}
