import type { TaskTable } from '#core/kernels'
import { demosaicTask } from './demosaic.ts'
import { halvesTask, turnTask } from './halves.ts'
import { reduceTask } from './reduce.ts'
import { print8Task, print16Task } from './render.ts'
import { cellsTask } from './scene.ts'
import { workingTask } from './working.ts'

export { type Rung, toneCurve } from './curve.ts'
export { demosaic, type MosaicPicture } from './demosaic.ts'
export { halvesOf, uprightPlane } from './halves.ts'
export { chooseLook, type PrintSettings, type SceneFacts } from './look.ts'
export type { RadiancePlanes } from './planes.ts'
export { reducePlanes } from './reduce.ts'
export { printBytes, renderPrint8, renderPrint16 } from './render.ts'
export { measureScene, type Scene, type SceneStatistics } from './scene.ts'
export { type CameraPlanes, toWorkingColours } from './working.ts'

export const finishTasks: TaskTable = {
  'finish.cells': cellsTask,
  'finish.demosaic': demosaicTask,
  'finish.working': workingTask,
  'finish.reduce': reduceTask,
  'finish.halves': halvesTask,
  'finish.turn': turnTask,
  'finish.print8': print8Task,
  'finish.print16': print16Task,
}
