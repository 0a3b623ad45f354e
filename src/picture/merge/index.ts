import type { TaskTable } from '#core/kernels'
import { alignTask } from './alignment.ts'
import { expectTask } from './expectation.ts'
import { curveTask, intakeTask, splitTask } from './intake.ts'
import { lumaTask, pyramidTask } from './pyramids.ts'
import { ratioTask } from './ratios.ts'
import { tilesTask } from './tiles.ts'

export { type DecodedFrame, takeInMosaics, takeInPlanes, takeInRendered } from './intake.ts'
export { mergeFrames } from './merge.ts'
export {
  LAST_TRUSTED_CODE,
  RENDERED_RANGE,
  type ResponseSamples,
  renderedNoise,
  sampleCodes,
  solveResponse,
} from './response.ts'
export type { FrameNoise, Merged, MergedFrame, MergeFrame, MergeInput, Motion } from './types.ts'

export const mergeTasks: TaskTable = {
  'merge.intake': intakeTask,
  'merge.split': splitTask,
  'merge.curve': curveTask,
  'merge.luma': lumaTask,
  'merge.pyramid': pyramidTask,
  'merge.align': alignTask,
  'merge.ratio': ratioTask,
  'merge.expect': expectTask,
  'merge.tiles': tilesTask,
}
