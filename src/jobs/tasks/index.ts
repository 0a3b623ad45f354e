import type { Task, TaskTable } from '#core/kernels'
import { finishTasks } from '#picture/finish'
import { mergeTasks } from '#picture/merge'
import { rawTasks } from '#picture/raw'
import { shadingTasks } from '#picture/shading'

/** What every outing needs. Kept apart from the jobs so that a worker thread starts light. */
const everyday: TaskTable = { ...rawTasks, ...mergeTasks, ...shadingTasks, ...finishTasks }

/** Any task of any picture room, by name. Simulator and measures are loaded when first asked for: few jobs need them. */
export async function taskNamed(name: string): Promise<Task | undefined> {
  if (name.startsWith('simulate.')) return (await import('#picture/simulate')).simulateTasks[name]
  if (name.startsWith('measure.')) return (await import('#picture/measure')).measureTasks[name]
  return everyday[name]
}
