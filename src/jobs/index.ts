export { type FrameGroups, type GroupedBracket, type GroupedFrame, group, groupFiles } from './group.ts'
export { findOuting, type Outing } from './outing.ts'
export { inspect } from './inspect.ts'
