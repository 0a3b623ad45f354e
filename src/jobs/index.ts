import type { demo as writeDemo } from './demo.ts'

export type { DemoOutingOptions } from './demo-outing.ts'
export { type FrameGroups, type GroupedBracket, type GroupedFrame, group, groupFiles } from './group.ts'
export { inspect } from './inspect.ts'
export { type LightWish, light } from './light.ts'
export { type MergeOptions, merge } from './merge.ts'
export { findOuting, type Outing } from './outing.ts'
export { plan } from './plan.ts'
export { planEvening } from './plan-evening.ts'
export { importRecon, type ReconResult } from './plan-recon.ts'
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
export { readOutingDocument, readSite } from './outing-document.ts'
export { type NewOuting, newOuting, startOuting } from './outing-start.ts'
