import type { TaskTable } from '#core/kernels'
import { lumaOfRenderedTask } from './rendered.ts'
import { smearTask } from './smear-task.ts'

export type { Focus, FocusCell } from './focus.ts'
export type { MeasureView } from './light.ts'
export { viewRendered } from './rendered.ts'
export { measureSmear, type NoSmear, type Smear, type SmearAndFocus } from './smear.ts'
export { measureSmears } from './smear-task.ts'
export { uprightDegrees } from './upright.ts'

export const smearTasks: TaskTable = {
  'measure.smear': smearTask,
  'measure.luma': lumaOfRenderedTask,
}
