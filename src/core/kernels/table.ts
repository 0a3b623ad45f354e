import type { Memory } from './arena.ts'
import { type HalfKernel, plainHalf } from './half/half.ts'

/**
 * Every hot loop, by name. Addresses are bytes in the shared memory. The SIMD module exports the same names with the
 * same arguments, so either set can stand behind this interface; the plain set is the definition of right.
 */
export interface Kernels extends HalfKernel {}

export const plainKernels = (memory: Memory): Kernels => ({
  ...plainHalf(memory),
})
