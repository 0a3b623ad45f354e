export { type FrameGroups, type GroupedBracket, type GroupedFrame, group, groupFiles } from './group.ts'
export { inspect } from './inspect.ts'
export { findOuting, type Outing } from './outing.ts'
export {
  type PrintFormat,
  type PrintOptions,
  type PrintResult,
  type PrintSource,
  printMemoryBytes,
  printPlanes,
  printRadiance,
  saturationLuminance,
} from './print.ts'
