import type { Stats } from 'node:fs'
import { mkdir, open, readdir, rm, stat } from 'node:fs/promises'
import { basename, dirname, join, resolve } from 'node:path'
import { Failure, overLimit } from '#core/base'
import type { DirectoryEntry, Files } from '#jobs/contract'
import { createDisk } from './disk.ts'
import { ioFailure } from './failures.ts'
import { layAside, writeAtomically } from './write.ts'

/** The largest file read whole: the largest raw of a small camera is some 200 MB, a radiance image some 600 MB. */
export const READ_LIMIT_BYTES = 1024 * 1024 * 1024

/** The `Files` port on Node's file system. */
export function createFiles(): Files {
  return {
    list,
    exists: async (path) => (await statOrNull(path)) !== null,
    isDirectory: async (path) => (await statOrNull(path))?.isDirectory() ?? false,
    async size(path) {
      const found = await statOrNull(path)
      if (!found) throw new Failure('io', 'not-found', { path, errno: 'ENOENT', attempt: 'read-failed' })
      return found.size
    },
    read: (path) => withFile(path, (file) => readWhole(file, path)),
    readHead: (path, bytes) =>
      withFile(path, async ({ handle, size }) => {
        const head = new Uint8Array(Math.min(bytes, size))
        return head.subarray(0, await fill(handle, head))
      }),
    readAt: (path, at, into) => withFile(path, ({ handle }) => fill(handle, into, at)),
    readInto: (path, into) =>
      withFile(path, async ({ handle, size }) => {
        if (size > into.byteLength)
          throw overLimit('file-too-large', { path, bytes: size, limitBytes: into.byteLength })
        return fill(handle, into.subarray(0, size))
      }),
    write: writeAtomically,
    layAside,
    makeDirectory,
    async remove(path) {
      try {
        await rm(path, { force: true })
      } catch (error) {
        throw ioFailure(error, path, 'remove-failed')
      }
    },
    join,
    resolve,
    baseName: (path) => basename(path),
    directoryName: dirname,
    disk: createDisk(),
  }
}

/** Entries by name. A link that leads nowhere is listed as a file of no bytes: reading it then fails by name. */
async function list(directory: string): Promise<DirectoryEntry[]> {
  let names: string[]
  try {
    names = await readdir(directory)
  } catch (error) {
    throw ioFailure(error, directory, 'list-failed')
  }
  const entries: DirectoryEntry[] = []
  for (const name of names.sort()) {
    const path = join(directory, name)
    const found = await stat(path).catch(() => null)
    entries.push({ name, path, isDirectory: found?.isDirectory() ?? false, bytes: found?.size ?? 0 })
  }
  return entries
}

async function statOrNull(path: string): Promise<Stats | null> {
  try {
    return await stat(path)
  } catch (error) {
    const code = (error as NodeJS.ErrnoException).code
    if (code === 'ENOENT' || code === 'ENOTDIR') return null
    throw ioFailure(error, path, 'read-failed')
  }
}

/**
 * A folder with those above it. Step by step and not by mkdir's own recursion, which never ends where the system takes no
 * folders at all (Node 20 below /proc), and so that the failure names the very part of the path that stands in the way.
 */
async function makeDirectory(path: string): Promise<void> {
  if ((await statOrNull(path))?.isDirectory()) return
  const above = dirname(path)
  if (above !== path) await makeDirectory(above)
  try {
    await mkdir(path)
  } catch (error) {
    const { code } = error as NodeJS.ErrnoException
    const there = code === 'EEXIST' ? await statOrNull(path) : null
    if (there?.isDirectory()) return
    if (there) throw new Failure('io', 'not-a-folder', { path, errno: 'EEXIST', attempt: 'make-folder-failed' }, error)
    // The folder above is there, so it is not what was not found.
    if (code === 'ENOENT') throw new Failure('io', 'make-folder-failed', { path, errno: code }, error)
    throw ioFailure(error, path, 'make-folder-failed')
  }
}

type Handle = Awaited<ReturnType<typeof open>>

interface OpenFile {
  readonly handle: Handle
  readonly size: number
}

/** Opens a regular file for reading. Pipes and devices are refused: they have no end to wait for. */
async function withFile<T>(path: string, use: (file: OpenFile) => Promise<T>): Promise<T> {
  try {
    const found = await stat(path)
    if (found.isDirectory()) throw new Failure('io', 'is-a-folder', { path, errno: 'EISDIR', attempt: 'read-failed' })
    if (!found.isFile()) throw new Failure('io', 'not-a-file', { path, errno: 'none', attempt: 'read-failed' })
    const handle = await open(path, 'r')
    try {
      return await use({ handle, size: found.size })
    } finally {
      await handle.close()
    }
  } catch (error) {
    throw ioFailure(error, path, 'read-failed')
  }
}

async function readWhole({ handle, size }: OpenFile, path: string): Promise<Uint8Array> {
  if (size > READ_LIMIT_BYTES) throw overLimit('file-too-large', { path, bytes: size, limitBytes: READ_LIMIT_BYTES })
  const bytes = new Uint8Array(size)
  return bytes.subarray(0, await fill(handle, bytes))
}

/** Reads until `into` is full or the file ends; one read may return less than asked. Returns the bytes read. */
async function fill(handle: Handle, into: Uint8Array, from = 0): Promise<number> {
  let at = 0
  while (at < into.byteLength) {
    const { bytesRead } = await handle.read(into, at, into.byteLength - at, from + at)
    if (bytesRead === 0) break
    at += bytesRead
  }
  return at
}
