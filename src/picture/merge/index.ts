import type { TaskTable } from '#core/kernels'
import { alignTask } from './alignment.ts'
import { rowsTask } from './merge.ts'
import { lumaTask, pyramidTask } from './pyramids.ts'

export { mergeFrames } from './merge.ts'
export { RENDERED_RANGE, type ResponseSamples, renderedNoise, sampleCodes, solveResponse } from './response.ts'
export type { FrameNoise, Merged, MergedFrame, MergeFrame, MergeInput, Motion } from './types.ts'

export const mergeTasks: TaskTable = {
  'merge.luma': lumaTask,
  'merge.pyramid': pyramidTask,
  'merge.align': alignTask,
  'merge.rows': rowsTask,
}
