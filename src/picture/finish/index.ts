import type { TaskTable } from '#core/kernels'
import { blocksTask } from './blocks.ts'
import { demosaicTask } from './demosaic.ts'
import { halveTask } from './reduce.ts'
import { print8Task, print16Task } from './render.ts'
import { cellsTask, momentsTask } from './scene.ts'
import { turnTask } from './upright.ts'
import { workingTask } from './working.ts'

export { type BlockRequest, layBlocks } from './blocks.ts'
export { brighterLook } from './brighter.ts'
export { type Rung, toneCurve } from './curve.ts'
export { demosaic, type MosaicPicture } from './demosaic.ts'
export { chooseLook, type PrintSettings, type SceneFacts } from './look.ts'
export type { RadiancePlanes } from './planes.ts'
export { reducePlanes } from './reduce.ts'
export { printBytes, renderPrint8, renderPrint16 } from './render.ts'
export { measureScene, type Scene, type SceneStatistics } from './scene.ts'
export { uprightPlane } from './upright.ts'
export { type CameraPlanes, toWorkingColours } from './working.ts'

export const finishTasks: TaskTable = {
  'finish.cells': cellsTask,
  'finish.moments': momentsTask,
  'finish.demosaic': demosaicTask,
  'finish.working': workingTask,
  'finish.halve': halveTask,
  'finish.blocks': blocksTask,
  'finish.turn': turnTask,
  'finish.print8': print8Task,
  'finish.print16': print16Task,
}
