import { readFileSync } from 'node:fs'
import {
  type Crew,
  inlineCrew,
  type Kernels,
  type Memory,
  memoryOver,
  plainKernels,
  type TaskTable,
} from '#core/kernels'

const wasm = new URL('../dist/kernels.wasm', import.meta.url)

/** Plain and SIMD kernels over one and the same memory, for comparing them call by call. */
export function bothKernels(bytes: number): { memory: Memory; plain: Kernels; simd: Kernels } {
  const pages = Math.ceil(bytes / 65536)
  const shared = new WebAssembly.Memory({ initial: pages, maximum: 65536, shared: true })
  const instance = new WebAssembly.Instance(new WebAssembly.Module(readFileSync(wasm)), { env: { memory: shared } })
  const memory = memoryOver(shared.buffer)
  return { memory, plain: plainKernels(memory), simd: instance.exports as unknown as Kernels }
}

/** A crew of one for room tests. `bytes` of memory beside the scratch. */
export function testCrew(tasks: TaskTable, bytes: number, kind: 'simd' | 'plain' = 'simd'): Crew {
  const both = bothKernels(bytes + 32 * 1024 * 1024)
  return inlineCrew({ buffer: both.memory.buffer, kernels: kind === 'simd' ? both.simd : both.plain, kind, tasks })
}

/** Where real sample files lie; tests that need them skip by name when the folder is absent. */
export const samples = process.env['DUSKWORK_SAMPLES'] ?? new URL('../../shared/data', import.meta.url).pathname
