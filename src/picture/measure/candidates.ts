import { median } from '#core/base'
import { CELL, CELL_FLOATS, type TaskContext } from '#core/kernels'
import type { Light, MeasureView } from './light.ts'

/** A place that may be a lamp: the brightest measured sample of a cell. */
export interface Candidate {
  readonly x: number
  readonly y: number
}

/** Cells are taken from 8 × 6 areas in turn, so that one bright quarter does not speak for the whole field. */
const AREAS_ACROSS = 8
const AREAS_DOWN = 6
/** Rows of cells that tell the noise. */
const SAMPLED = 9
/** Of 256 normal numbers the largest lies this many deviations over their mean (Tippett 1925). */
const LARGEST_OF_CELL = 2.8

/**
 * Places that stand out of their surroundings, strongest first within each area of the field, the areas in turn: `most`
 * at the most. One pass over the frame, in which the kernel finds mean and largest sample of 16 × 16 cells. A cell with a saturated
 * sample of any colour is passed over.
 */
export function findCandidates(context: TaskContext, view: MeasureView, light: Light, most: number): Candidate[] {
  const across = Math.floor(view.width / CELL)
  const down = Math.floor(view.height / CELL)
  if (across < 3 || down < 3) return []
  const row = context.memory.f32(context.scratch, Math.ceil(view.width / CELL) * CELL_FLOATS)
  const cells = (cy: number) => context.kernels.cellRow(view.at, view.width, view.height, cy, context.scratch)
  const contrastOf = (i: number) => row[i + 4]! - Math.max(row[i]!, row[i + 1]!, row[i + 2]!, row[i + 3]!)
  // What noise alone lets the largest of a cell stand out by: the usual of a few rows of cells.
  const usual: number[] = []
  for (let k = 0; k < SAMPLED; k++) {
    cells(Math.floor(((k + 0.5) / SAMPLED) * down))
    for (let cx = 0; cx < across; cx++) usual.push(contrastOf(cx * CELL_FLOATS))
  }
  const floor = Math.max(1, (median(usual) / LARGEST_OF_CELL) ** 2)
  const areas = Array.from({ length: AREAS_ACROSS * AREAS_DOWN }, () => strongest(Math.ceil(most / 16)))
  for (let cy = 0; cy < down; cy++) {
    cells(cy)
    const areaRow = Math.floor((cy * AREAS_DOWN) / down) * AREAS_ACROSS
    for (let cx = 0; cx < across; cx++) {
      const i = cx * CELL_FLOATS
      const peak = row[i + 4]!
      if (peak >= light.ceiling) continue
      const mean = Math.max(row[i]!, row[i + 1]!, row[i + 2]!, row[i + 3]!)
      const contrast = contrastOf(i) / Math.sqrt(Math.max(mean - light.black[0], floor))
      areas[areaRow + Math.floor((cx * AREAS_ACROSS) / across)]!.offer(contrast, cy * across + cx)
    }
  }
  const ranked = areas.map((a) => a.ranked())
  const found: Candidate[] = []
  for (let rank = 0; found.length < most && ranked.some((r) => rank < r.length); rank++)
    for (const area of ranked) {
      const cell = area[rank]
      if (cell === undefined || found.length >= most) continue
      found.push(brightest(light, (cell % across) * CELL, Math.floor(cell / across) * CELL))
    }
  return found
}

/** Keeps the cells of largest contrast, `room` of them; of equal ones the first offered. */
export function strongest(room: number) {
  const contrasts = new Float64Array(room)
  const cells = new Int32Array(room)
  let n = 0
  return {
    offer(contrast: number, cell: number) {
      if (n === room && contrast <= contrasts[n - 1]!) return
      let i = n < room ? n++ : n - 1
      for (; i > 0 && contrasts[i - 1]! < contrast; i--) {
        contrasts[i] = contrasts[i - 1]!
        cells[i] = cells[i - 1]!
      }
      contrasts[i] = contrast
      cells[i] = cell
    },
    /** Strongest first. */
    ranked: (): readonly number[] => [...cells.subarray(0, n)],
  }
}

/** The brightest measured place of a cell, by the sum of each sample and its four nearest: less at the mercy of noise. */
function brightest(light: Light, left: number, top: number): Candidate {
  const { samples, width, height, step } = light
  const [right, below] = step === 1 ? [1, width] : [width + 1, width - 1]
  let best = -1
  let at: Candidate = { x: left, y: top }
  for (let y = Math.max(top, 1); y < Math.min(top + CELL, height - 1); y++)
    for (
      let x = Math.max(left, 2) + ((light.first(y) + Math.max(left, 2)) & (step - 1));
      x < Math.min(left + CELL, width - 1);
      x += step
    ) {
      const i = y * width + x
      const sum = samples[i]! + samples[i + right]! + samples[i - right]! + samples[i + below]! + samples[i - below]!
      if (sum > best) {
        best = sum
        at = { x, y }
      }
    }
  return at
}
