import { createHash } from 'node:crypto'
import { closeSync, openSync, readFileSync, readSync, statSync } from 'node:fs'
import { Failure } from '#core/base'
import type { Disk, Files, Host, Progress } from '#jobs/contract'
import { rawTasks } from '#picture/raw'
import { testCrew } from './kernels.ts'

/** A host that reads: files given by name in memory, all others from the disk. It writes nothing and has no codec. */
export function readingHost(inMemory: Readonly<Record<string, Uint8Array>> = {}) {
  const progress: Progress[] = []
  const crews: number[] = []
  const never = (): never => {
    throw new Error('a reading host does not do this')
  }
  const reading = <T>(path: string, read: (memory: Uint8Array | null) => T): Promise<T> => {
    try {
      return Promise.resolve(read(inMemory[path] ?? null))
    } catch (error) {
      return Promise.reject(new Failure('io', 'not-found', { path }, error))
    }
  }
  const headOf = (path: string, bytes: number) => {
    const into = new Uint8Array(Math.min(bytes, statSync(path).size))
    const file = openSync(path, 'r')
    readSync(file, into, 0, into.length, 0)
    closeSync(file)
    return into
  }
  const files: Files = {
    size: (path) => reading(path, (memory) => memory?.length ?? statSync(path).size),
    read: (path) => reading(path, (memory) => memory ?? new Uint8Array(readFileSync(path))),
    readHead: (path, bytes) => reading(path, (memory) => memory?.slice(0, bytes) ?? headOf(path, bytes)),
    readAt: (path, at, into) =>
      reading(path, (memory) => {
        const part = (memory ?? new Uint8Array(readFileSync(path))).subarray(at, at + into.length)
        into.set(part)
        return part.length
      }),
    readInto: (path, into) =>
      reading(path, (memory) => {
        const bytes = memory ?? new Uint8Array(readFileSync(path))
        into.set(bytes.subarray(0, into.length))
        return Math.min(bytes.length, into.length)
      }),
    list: never,
    exists: never,
    isDirectory: never,
    write: never,
    makeDirectory: never,
    remove: never,
    join: (...parts) => parts.join('/'),
    resolve: (path) => path,
    baseName: (path) => path.split('/').at(-1)!,
    directoryName: (path) => path.split('/').slice(0, -1).join('/'),
    layAside: never,
    disk: new Proxy({} as Disk, { get: never }),
  }
  const host: Host = {
    files,
    codec: {
      decode: never,
      encodeJpeg: never,
      encodeBareJpeg: never,
      encodeTiff16: never,
      encodePng16: never,
      encodeAvif: never,
      decode16: never,
      gainMapIn: never,
      reduce: never,
      probe: never,
    },
    crew(bytes) {
      crews.push(bytes)
      return Promise.resolve(testCrew(rawTasks, bytes))
    },
    md5: (bytes) => createHash('md5').update(bytes).digest('hex'),
    sha256: never,
    seconds: () => 0,
    progress: (event) => progress.push(event),
    throwIfStopped() {},
    version: '0',
  }
  return { host, progress, crews }
}
