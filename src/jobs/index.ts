import type { demo as writeDemo } from './demo.ts'

export { type CopyOptions, copy } from './copy.ts'
export type { DemoOutingOptions } from './demo-outing.ts'
export { type FrameGroups, type GroupedBracket, type GroupedFrame, group, groupFiles } from './group.ts'
export { inspect } from './inspect.ts'
export { type MergeOptions, merge } from './merge.ts'
export { findOuting, type Outing } from './outing.ts'
export {
  candelaOfUnit,
  type PrintFormat,
  type PrintOptions,
  type PrintResult,
  type PrintSource,
  printMemoryBytes,
  printPlanes,
  printRadiance,
} from './print.ts'
export { type PrintAllOptions, print } from './print-outing.ts'

/** See demo.ts; loaded when asked for, because it brings the simulator. */
export const demo: typeof writeDemo = async (...given) => (await import('./demo.ts')).demo(...given)
