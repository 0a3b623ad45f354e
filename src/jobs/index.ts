import type { check as checkOuting } from './check.ts'
import type { LightDocument } from './contract/index.ts'
import type { demo as writeDemo } from './demo.ts'
import type { light as lightOf } from './light.ts'
import type { readOutingDocument as readOuting, readSite as readSiteFile } from './outing-document.ts'
import type { startOuting as beginOuting } from './outing-start.ts'
import type { plan as planOuting } from './plan.ts'
import type { planMinute as planOneMinute } from './plan-minute.ts'
import type { importRecon as takeRecon } from './plan-recon.ts'

export type { CheckOptions } from './check.ts'
export { type CopyOptions, copy } from './copy.ts'
export type { AskedCorrections, Correction } from './corrections.ts'
export type { DemoOutingOptions } from './demo-outing.ts'
export { framePicture, frameThumbnail } from './frame-picture.ts'
export { type FrameGroups, type GroupedBracket, type GroupedFrame, group, groupFiles } from './group.ts'
export { inspect } from './inspect.ts'
export type { LightWish } from './light.ts'
export { crewKeeper, type MergeOptions, merge } from './merge.ts'
export { findOuting, type Outing } from './outing.ts'
export type { ReconResult } from './plan-recon.ts'
export {
  candelaOfUnit,
  type FileWish,
  type PrintOptions,
  type PrintResult,
  type PrintSource,
  printMemoryBytes,
  printPlanes,
  printRadiance,
} from './print.ts'
export { DESK_SIDE, type Desk, openDesk } from './print-desk.ts'
export { type PrintAllOptions, print } from './print-outing.ts'

/** See check.ts; loaded when asked for, because it brings the measures. */
export const check: typeof checkOuting = async (...given) => (await import('./check.ts')).check(...given)
/** See demo.ts; loaded when asked for, because it brings the simulator. */
export const demo: typeof writeDemo = async (...given) => (await import('./demo.ts')).demo(...given)
export type { NewOuting } from './outing-start.ts'

// The evening brings an ephemeris and checked documents along, which a merge has no use for: each is loaded when asked for.

/** See light.ts. */
export const light = async (...given: Parameters<typeof lightOf>): Promise<LightDocument> =>
  (await import('./light.ts')).light(...given)
/** See plan.ts. */
export const plan: typeof planOuting = async (...given) => (await import('./plan.ts')).plan(...given)
/** See plan-minute.ts. */
export const planMinute = async (...given: Parameters<typeof planOneMinute>) =>
  (await import('./plan-minute.ts')).planMinute(...given)
/** See plan-recon.ts. */
export const importRecon: typeof takeRecon = async (...given) => (await import('./plan-recon.ts')).importRecon(...given)
/** See outing-start.ts. */
export const startOuting: typeof beginOuting = async (...given) =>
  (await import('./outing-start.ts')).startOuting(...given)
/** See outing-document.ts. */
export const readOutingDocument: typeof readOuting = async (...given) =>
  (await import('./outing-document.ts')).readOutingDocument(...given)
/** See outing-document.ts. */
export const readSite: typeof readSiteFile = async (...given) =>
  (await import('./outing-document.ts')).readSite(...given)
