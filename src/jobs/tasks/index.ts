import type { TaskTable } from '#core/kernels'
import { finishTasks } from '#picture/finish'
import { mergeTasks } from '#picture/merge'
import { rawTasks } from '#picture/raw'
import { shadingTasks } from '#picture/shading'
import { simulateTasks } from '#picture/simulate'

/** Every task of every picture room, by name: what a worker thread can do. Kept apart from the jobs so that a worker starts light. */
export const tasks: TaskTable = {
  ...rawTasks,
  ...mergeTasks,
  ...shadingTasks,
  ...finishTasks,
  ...simulateTasks,
}
