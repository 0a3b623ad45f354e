import type { TaskTable } from '#core/kernels'
import { levelTasks } from './level-task.ts'
import { smallPictureTask } from './small-picture.ts'
import { smearTasks } from './smear-task.ts'

export { type Advice, type AdviceCode, adviceFor } from './advice.ts'
export { maskedBlack, type RowBanding } from './black.ts'
export { type BracketFrame, type BracketLevels, bracketLevels, type SceneSpan } from './bracket-levels.ts'
export type { Flicker } from './flicker.ts'
export type { Focus, FocusCell } from './focus.ts'
export { type FrameLevels, type FrameNoise, frameLevels, type LevelRequest, lightGrid } from './frame-levels.ts'
export type { FrameLight } from './frame-light.ts'
export type { Haze } from './haze.ts'
export type { LevelFrame, PerColour } from './level-frame.ts'
export { LEVEL_RESULT_BYTES, type LevelWork, readLevels } from './level-task.ts'
export type { MeasureView } from './light.ts'
export { type LineSums, type NoiseMeasure, noiseOfGrain, type ProfileComparison } from './noise.ts'
export { type RenderedPicture, renderedLevels } from './rendered-levels.ts'
export { viewRendered } from './rendered-luma.ts'
export { type Rule, type RuleId, rules } from './rules.ts'
export { type SceneStops, STOPS, type StopShares } from './scene-stops.ts'
export { type SmallPictureRequest, type SmallPictureWork, smallSize } from './small-picture.ts'
export { measureSmear, type NoSmear, type Smear, type SmearAndFocus } from './smear.ts'
export { measureSmears } from './smear-task.ts'
export type { StrobeLift } from './strobe.ts'
export type { Tilt } from './tilt.ts'
export { uprightDegrees } from './upright-degrees.ts'
export { type Reason, type Verdict, verdictOf } from './verdict.ts'
export type { SmearFinding, VerdictBracket, VerdictFrame } from './verdict-types.ts'

export const measureTasks: TaskTable = {
  ...levelTasks,
  ...smearTasks,
  'measure.small': smallPictureTask,
}
