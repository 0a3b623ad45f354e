import { Failure } from '#core/base'
import type { Host, Progress } from '#jobs/contract'
import { codecLibrary, createCodec } from './codec.ts'
import { prepareThreads, threadCrew } from './crew.ts'
import { createFiles } from './files.ts'
import { hashes } from './hashes.ts'

/** The machine as jobs see it: files, codecs, worker threads, checksums, progress and the user's wish to stop. */
export function createHost(options: {
  readonly version: string
  readonly kernels: 'simd' | 'plain'
  onProgress(event: Progress): void
  isStopped(): boolean
}): Host {
  return {
    ...hashes,
    files: createFiles(),
    codec: createCodec(),
    prepareCrew: prepareThreads,
    async crew(bytes) {
      const crew = await threadCrew({ bytes, kernels: options.kernels })
      return {
        ...crew,
        run(task, params, items) {
          const done = crew.run(task, params, items)
          // Whoever wants a crew writes pictures in the end: the library loads while the workers have something to do, and
          // not before. Should it fail to load, its first use says so.
          codecLibrary().catch(() => {})
          return done
        },
      }
    },
    seconds: () => performance.now() / 1000,
    progress: options.onProgress,
    throwIfStopped() {
      if (options.isStopped()) throw new Failure('aborted', 'stopped')
    },
    version: options.version,
  }
}
