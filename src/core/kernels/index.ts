export { ALIGN_SUMS, cubicTable, PHASES } from './align/align.ts'
export { type Address, type Arena, arenaOver, type Memory, memoryOver } from './arena.ts'
export { COMBINE_WORDS } from './combine/combine.ts'
export {
  type Crew,
  inlineCrew,
  RESERVED_BYTES,
  SCRATCH_BYTES,
  type Task,
  type TaskContext,
  type TaskTable,
} from './crew.ts'
export { demosaicScratchBytes } from './demosaic/demosaic.ts'
export { EXPECT_WORDS } from './expect/expect.ts'
export { GRAIN_COARSE_SPREAD, GRAIN_FLOATS, GRAIN_SIDE, GRAIN_SPREAD } from './grain/grain.ts'
export { floatFromHalf, halfFromFloat } from './half/half.ts'
export { LEVEL_BINS } from './levels/levels.ts'
export { LJPEG_STREAM_BYTES, LJPEG_STREAM_SPARE, LJPEG_TABLE_BYTES } from './ljpeg/ljpeg.ts'
export { CELL, CELL_FLOATS } from './luma/luma.ts'
export { PLANE_PAD, planeStride } from './planes/planes.ts'
export { ditherPhase } from './print/dither.ts'
export { printConstant } from './print/print.ts'
export { type Kernels, plainKernels } from './table.ts'
export { WARP_PHASES, WARP_TABLE_BYTES, writeWarpTable } from './warp/warp.ts'
export { WORKING_NUMBERS } from './working/working.ts'
