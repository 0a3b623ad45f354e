export { demo } from './demo.ts'
export { type DemoBracketFiles, type DemoOuting, type DemoOutingOptions, writeDemoOuting } from './demo-outing.ts'
export { type FrameGroups, type GroupedBracket, type GroupedFrame, group, groupFiles } from './group.ts'
export { inspect } from './inspect.ts'
export { type MergeOptions, merge } from './merge.ts'
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
export { type PrintAllOptions, print } from './print-outing.ts'
