import type { Task, TaskTable } from '#core/kernels'
import { finishTasks } from '#picture/finish'
import { mergeTasks } from '#picture/merge'
import { rawTasks } from '#picture/raw'
import { shadingTasks } from '#picture/shading'

/** What every outing needs. Kept apart from the jobs so that a worker thread starts light. */
const everyday: TaskTable = { ...rawTasks, ...mergeTasks, ...shadingTasks, ...finishTasks }

/** Any task of any picture room, by name. The simulator is loaded when first asked for: only a demonstration needs it. */
export async function taskNamed(name: string): Promise<Task | undefined> {
  if (!name.startsWith('simulate.')) return everyday[name]
  return (await import('#picture/simulate')).simulateTasks[name]
}
