import type { Address, Arena, Memory } from './arena.ts'
import { arenaOver } from './arena.ts'
import type { Kernels } from './table.ts'

/** What a task sees: the kernels, the memory, and a stretch of scratch memory that is this worker's alone. */
export interface TaskContext {
  readonly kernels: Kernels
  readonly memory: Memory
  readonly scratch: Address
  readonly scratchBytes: number
}

/**
 * One item of work, such as one strip of rows. `params` is the same plain data for every item of a step (addresses,
 * sizes, numbers); `item` counts 0, 1, 2 … A task keeps nothing between items and throws only `Failure`.
 */
// biome-ignore lint/suspicious/noExplicitAny: a table holds tasks of many parameter types; each task states its own.
export type Task = (context: TaskContext, params: any, item: number) => void

/** Tasks by name; names are `room.task`, for instance `merge.rows`. */
export type TaskTable = Readonly<Record<string, Task>>

/**
 * The hands that do the work: one memory, one or more threads. `run` shares the items of a step among the threads by an
 * atomic counter and resolves when all are done; a failure in any item stops the step and is thrown.
 */
export interface Crew {
  readonly arena: Arena
  readonly kernels: 'simd' | 'plain'
  readonly threads: number
  run(task: string, params: object, items: number): Promise<void>
  close(): Promise<void>
}

export const SCRATCH_BYTES = 24 * 1024 * 1024
/** Bytes at the start of the memory that nobody uses: address 0 stays invalid. */
export const RESERVED_BYTES = 1024

/** A crew of one, in the calling thread: for tests, for small work, and as the definition of what `run` means. */
export function inlineCrew(options: {
  readonly buffer: ArrayBufferLike
  readonly kernels: Kernels
  readonly kind: 'simd' | 'plain'
  readonly tasks: TaskTable
}): Crew {
  const arena = arenaOver(options.buffer, RESERVED_BYTES + SCRATCH_BYTES)
  const context: TaskContext = {
    kernels: options.kernels,
    memory: arena,
    scratch: RESERVED_BYTES,
    scratchBytes: SCRATCH_BYTES,
  }
  return {
    arena,
    kernels: options.kind,
    threads: 1,
    async run(name, params, items) {
      const task = options.tasks[name]
      if (!task) throw new Error(`no task named ${name}`)
      for (let item = 0; item < items; item++) task(context, params, item)
    },
    async close() {},
  }
}
