import { readFile } from 'node:fs/promises'
import { availableParallelism } from 'node:os'
import { Worker } from 'node:worker_threads'
import { Failure, type FailureData, overLimit } from '#core/base'
import { arenaOver, type Crew, RESERVED_BYTES, SCRATCH_BYTES } from '#core/kernels'

const PAGE = 65536
/** Where the atomic item counter lies, in the reserved bytes at the start of the memory. */
export const COUNTER_AT = 64

/** What a worker is given first of all: the memory that it and the others share, and its place in it. */
export interface WorkerStart {
  readonly memory: WebAssembly.Memory | null
  readonly plainBuffer: SharedArrayBuffer | null
  readonly module: WebAssembly.Module | null
  readonly scratch: number
}

export interface StepMessage {
  readonly task: string
  readonly params: object
  readonly items: number
}

export type StepReply =
  | { readonly ok: true }
  | { readonly ok: false; readonly failure: FailureData | null; readonly stack: string }

let compiled: Promise<WebAssembly.Module> | null = null

/** The kernels, compiled once a process; import.meta.url is in dist/apps/bundle/, as is worker.js. */
const kernelModule = () => {
  compiled ??= readFile(new URL('../../kernels.wasm', import.meta.url)).then((bytes) =>
    WebAssembly.compile(new Uint8Array(bytes)),
  )
  return compiled
}

/** Threads that have started and wait for a memory; they do not keep the process alive. */
const waiting: Worker[] = []

function startWorker(): Worker {
  const worker = new Worker(new URL('./worker.js', import.meta.url))
  worker.setMaxListeners(20)
  return worker
}

const defaultThreads = () => Math.max(1, Math.min(8, availableParallelism()))

/** Starts the threads that a crew will want, so that they load while the caller still finds out how much memory it takes. */
export function prepareThreads(): void {
  while (waiting.length < defaultThreads()) {
    const worker = startWorker()
    worker.unref()
    waiting.push(worker)
  }
}

/**
 * Worker threads over one shared memory. The memory is laid out once and never grows (growing would leave stale views);
 * pages that are not touched cost nothing. A step's items are handed out by an atomic counter, so a slow item on one
 * thread does not hold up the rest.
 */
export async function threadCrew(options: {
  bytes: number
  kernels: 'simd' | 'plain'
  threads?: number
}): Promise<Crew> {
  const threads = options.threads ?? defaultThreads()
  const total = options.bytes + threads * SCRATCH_BYTES + RESERVED_BYTES + PAGE
  const pages = Math.ceil(total / PAGE)
  if (pages > PAGE) throw overLimit('memory-over-4-gib', { wantedBytes: total })
  const module = options.kernels === 'simd' ? await kernelModule() : null
  const memory = module ? new WebAssembly.Memory({ initial: pages, maximum: pages, shared: true }) : null
  const buffer = memory ? memory.buffer : new SharedArrayBuffer(pages * PAGE)
  const counter = new Int32Array(buffer, COUNTER_AT, 1)
  const workers = Array.from({ length: threads }, (_, i) => {
    const worker = waiting.pop() ?? startWorker()
    worker.ref()
    const start: WorkerStart = {
      memory,
      plainBuffer: memory ? null : (buffer as SharedArrayBuffer),
      module,
      scratch: RESERVED_BYTES + i * SCRATCH_BYTES,
    }
    worker.postMessage(start)
    return worker
  })
  let broken: Error | null = null
  const reply = (worker: Worker, message: StepMessage) =>
    new Promise<StepReply>((resolve, reject) => {
      const done = (result: StepReply) => {
        worker.off('error', failed)
        resolve(result)
      }
      const failed = (error: Error) => {
        worker.off('message', done)
        broken = error
        reject(error)
      }
      worker.once('message', done)
      worker.once('error', failed)
      worker.postMessage(message)
    })

  return {
    arena: arenaOver(buffer, RESERVED_BYTES + threads * SCRATCH_BYTES),
    kernels: options.kernels,
    threads,
    async run(task, params, items) {
      if (broken) throw broken
      Atomics.store(counter, 0, 0)
      const replies = await Promise.all(workers.map((w) => reply(w, { task, params, items })))
      for (const r of replies) {
        if (r.ok) continue
        if (r.failure) throw new Failure(r.failure.kind, r.failure.code, r.failure.facts)
        throw new Error(`task ${task} broke: ${r.stack}`)
      }
    },
    async close() {
      await Promise.all(workers.map((w) => w.terminate()))
    },
  }
}
