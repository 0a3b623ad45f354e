export { type Address, type Arena, arenaOver, type Memory, memoryOver } from './arena.ts'
export {
  type Crew,
  inlineCrew,
  RESERVED_BYTES,
  SCRATCH_BYTES,
  type Task,
  type TaskContext,
  type TaskTable,
} from './crew.ts'
export { floatFromHalf, halfFromFloat } from './half/half.ts'
export { type Kernels, plainKernels } from './table.ts'
