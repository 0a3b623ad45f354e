import type { TaskTable } from '#core/kernels'
import { exposeTask } from './expose.ts'
import { blurColumnsTask, renderTask, toCameraTask } from './master.ts'
import { packTask } from './pack.ts'
import { truthTask } from './truth.ts'

export {
  type BracketPlan,
  bracketBytes,
  type FramePlan,
  LOSSLESS_TILES,
  marginOf,
  renderBracketMaster,
  type SimulatedBracket,
  type SimulatedFrame,
  simulateBracket,
  takeFrame,
} from './bracket.ts'
export { lantern, lanternColour, lanternMatrices, noiseOf, type Sensor } from './camera.ts'
export { type Exposure, exposeFrame } from './expose.ts'
export { type Master, masterBytes, renderMaster } from './master.ts'
export { type Motion, still } from './motion.ts'
export { previewOf } from './preview.ts'
export type { Scene, SceneRequest, Spot } from './scene.ts'
export type { TownView } from './town/view.ts'
export { truthHalves } from './truth.ts'

export const simulateTasks: TaskTable = {
  'simulate.render': renderTask,
  'simulate.blurColumns': blurColumnsTask,
  'simulate.toCamera': toCameraTask,
  'simulate.expose': exposeTask,
  'simulate.pack': packTask,
  'simulate.truth': truthTask,
}
