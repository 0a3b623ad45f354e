import { resolve } from 'node:path'
import { createFiles } from '#apps/io'
import { Failure } from '#core/base'
import type { CopyFile, Disk, Files, Host, SourceFile } from '#jobs/contract'

/** What goes wrong; paths as the disk is given them. A throw is the fault; anything else lets the step happen. */
export interface Faults {
  /** Before a read of a card's file, with the bytes read of it so far. */
  onCardRead?(path: string, at: number): void | Promise<void>
  /** A part on its way to a copy, with its place in the copy; what is returned is written. */
  onWrite?(path: string, at: number, part: Uint8Array): Uint8Array
  /** Bytes that may be written below a folder before it is full. */
  readonly room?: { readonly folder: string; readonly bytes: number; readonly free?: number }
  onSync?(path: string): void
  onLook?(path: string): void
  onNames?(path: string): string[] | undefined
  onMove?(from: string, to: string): void
}

export const ioError = (code: string, path: string, errno = 'EIO') => new Failure('io', code, { path, errno })

/** Files on the real disk that fail as told. */
export function faultyFiles(faults: Faults): Files {
  const files = createFiles()
  const real = files.disk
  let written = 0
  const placed = new Set<string>()
  const isIn = (path: string) => faults.room !== undefined && resolve(path).startsWith(resolve(faults.room.folder))
  const disk: Disk = {
    ...real,
    async openSource(path) {
      return faultySource(await real.openSource(path), (at) => faults.onCardRead?.(path, at))
    },
    async look(path) {
      faults.onLook?.(path)
      return real.look(path)
    },
    names: async (path) => faults.onNames?.(path) ?? real.names(path),
    async create(path) {
      const file = await real.create(path)
      let at = 0
      const faulty: CopyFile = {
        ...file,
        async append(part) {
          const bytes = typeof part === 'string' ? new TextEncoder().encode(part) : part
          if (isIn(path) && written + bytes.length > faults.room!.bytes) throw ioError('no-space', path, 'ENOSPC')
          if (isIn(path)) written += bytes.length
          await file.append(faults.onWrite?.(path, at, bytes) ?? bytes)
          at += bytes.length
        },
        async finish(time) {
          faults.onSync?.(path)
          await file.finish(time)
        },
        async discard() {
          if (isIn(path) && !placed.has(path)) written -= at
          at = 0
          await file.discard()
        },
      }
      return faulty
    },
    async move(from, to) {
      faults.onMove?.(from, to)
      await real.move(from, to)
      placed.add(from)
    },
    freeBytes: async (path) =>
      isIn(path) ? (faults.room!.free ?? faults.room!.bytes - written) : real.freeBytes(path),
  }
  return { ...files, disk }
}

function faultySource(source: SourceFile, before: (at: number) => void | Promise<void>): SourceFile {
  let at = 0
  return {
    ...source,
    async read(into) {
      await before(at)
      const bytes = await source.read(into)
      at += bytes
      return bytes
    },
  }
}

/** A host that copies and does nothing else. */
export function copyingHost(faults: Faults = {}, stopAfter = Number.POSITIVE_INFINITY) {
  const progress: { stage: string; done: number; total: number }[] = []
  let asked = 0
  const host = {
    files: faultyFiles(faults),
    seconds: () => asked / 100,
    progress: (event: (typeof progress)[number]) => progress.push(event),
    throwIfStopped() {
      if (asked++ >= stopAfter) throw new Failure('aborted', 'stopped')
    },
    version: '0',
  } as unknown as Host
  return { host, progress, asked: () => asked }
}
