import type { Address, Crew, Memory, Task, TaskTable } from '#core/kernels'
import type { MeasureView } from './light.ts'
import { lumaOfRenderedTask } from './rendered-luma.ts'
import { measureSmear, type NoSmear, type SmearAndFocus } from './smear.ts'

interface SmearParams {
  readonly views: readonly MeasureView[]
  /** SMEAR_NUMBERS f64 a view. */
  readonly results: Address
}

const CELLS = 9
const SMEAR_NUMBERS = 8 + 2 * CELLS
const REASONS: readonly (NoSmear | null)[] = [
  null,
  'too-small',
  'too-few-lamps',
  'blobs-too-large',
  'longer-than-window',
  'unsure',
]

/** One whole frame: frames share the threads, the strips of one do not. */
export const smearTask: Task = (context, { views, results }: SmearParams, item) =>
  writeSmear(context.memory, results + 8 * SMEAR_NUMBERS * item, measureSmear(context, views[item]!))

/** Measures several frames whose samples lie in the crew's memory, each on one thread. */
export async function measureSmears(crew: Crew, views: readonly MeasureView[]): Promise<SmearAndFocus[]> {
  const { arena } = crew
  const mark = arena.mark()
  try {
    const results = arena.alloc(8 * SMEAR_NUMBERS * views.length)
    await crew.run('measure.smear', { views, results } satisfies SmearParams, views.length)
    return views.map((_v, i) => readSmear(arena, results + 8 * SMEAR_NUMBERS * i))
  } finally {
    arena.release(mark)
  }
}

/** A number, or NaN for null: NaN does not occur in results. */
const orNaN = (v: number | null) => v ?? Number.NaN
const orNull = (v: number) => (Number.isNaN(v) ? null : v)

export function writeSmear(memory: Memory, at: Address, { smear, focus, why }: SmearAndFocus): void {
  const to = memory.f64(at, SMEAR_NUMBERS)
  to.fill(Number.NaN)
  to[0] = REASONS.indexOf(why)
  if (smear) {
    const { pixels, directionDegrees, confidence, from, used } = smear
    to.set([pixels, orNaN(directionDegrees), confidence, from === 'lamps' ? 0 : 1, used], 1)
  }
  if (!focus) return
  to.set([focus.blurPixels, orNaN(focus.unevenness)], 6)
  focus.field.forEach((cell, i) => void to.set([orNaN(cell.blurPixels), cell.lamps], 8 + 2 * i))
}

export function readSmear(memory: Memory, at: Address): SmearAndFocus {
  const from = memory.f64(at, SMEAR_NUMBERS).slice()
  const [why, pixels, direction, confidence, source, used, blurPixels, unevenness] = from as unknown as [
    ...[number, number, number, number, number, number, number, number],
  ]
  const field = Array.from({ length: CELLS }, (_, i) => ({
    blurPixels: orNull(from[8 + 2 * i]!),
    lamps: from[9 + 2 * i]!,
  })).filter((c) => !Number.isNaN(c.lamps))
  return {
    why: REASONS[why] ?? null,
    smear: Number.isNaN(pixels)
      ? null
      : { pixels, directionDegrees: orNull(direction), confidence, from: source === 0 ? 'lamps' : 'edges', used },
    focus: Number.isNaN(blurPixels) ? null : { blurPixels, field, unevenness: orNull(unevenness) },
  }
}

export const smearTasks: TaskTable = { 'measure.smear': smearTask, 'measure.luma': lumaOfRenderedTask }
