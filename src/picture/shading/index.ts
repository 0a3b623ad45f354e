import type { TaskTable } from '#core/kernels'
import { gainRows } from './gain-rows.ts'
import { vignetteRows } from './vignette.ts'
import { warpRows } from './warp.ts'

export { applyGainMaps, applyStoredGainMaps, type ShadedMosaic, type StoredMosaic } from './gain-maps.ts'
export type { ShadingReason } from './left-out.ts'
export { correctLens, type LensCorrected, type LensPicture } from './lens.ts'
export { warpSource } from './warp.ts'

export const shadingTasks: TaskTable = {
  'shading.gains': gainRows,
  'shading.vignette': vignetteRows,
  'shading.warp': warpRows,
}
