import { randomBytes } from 'node:crypto'
import { rmSync } from 'node:fs'
import { link, open, rename, rm, stat } from 'node:fs/promises'
import { basename, dirname, join } from 'node:path'
import { Failure } from '#core/base'
import type { LaidAside } from '#jobs/contract'
import { ioFailure } from './failures.ts'

/** Temporary files that stand on disk now; an interrupted run removes them before it leaves. */
export const unfinished = new Set<string>()

/** Removes every temporary file of this process. Synchronous: it runs as the process ends. */
export function removeUnfinishedFiles(): void {
  for (const path of unfinished) rmSync(path, { force: true })
  unfinished.clear()
}

/** The finished temporary file takes its name, unless another file has it: in one step where the disk knows links. */
async function takeNewName(temporary: string, path: string): Promise<void> {
  try {
    await link(temporary, path)
    await rm(temporary)
  } catch (error) {
    const { code } = error as NodeJS.ErrnoException
    if (code === 'EEXIST') throw new Failure('io', 'file-there', { path, errno: code }, error)
    // The disks of cards have no links.
    if (await stat(path).catch(() => null)) throw new Failure('io', 'file-there', { path, errno: 'EEXIST' }, error)
    await rename(temporary, path)
  }
}

/**
 * Writes so that a reader, or a run killed at any moment, finds the old file or the new one and nothing between:
 * temporary file in the same folder (so that the rename stays on one disk), fsync, rename, fsync of the folder.
 */
export async function writeAtomically(
  path: string,
  parts: Uint8Array | string | readonly Uint8Array[],
  { replace = true }: { readonly replace?: boolean } = {},
): Promise<void> {
  const laid = await layAside(path, parts)
  await laid.place({ replace })
}

/** The first half of an atomic write: everything is on the disk, under a temporary name, until it is placed or dropped. */
export async function layAside(path: string, parts: Uint8Array | string | readonly Uint8Array[]): Promise<LaidAside> {
  const temporary = join(dirname(path), `.${basename(path)}.${process.pid}-${randomBytes(4).toString('hex')}.part`)
  const drop = async () => {
    if (unfinished.delete(temporary)) await rm(temporary, { force: true }).catch(() => {})
  }
  try {
    const handle = await open(temporary, 'wx')
    unfinished.add(temporary)
    try {
      for (const part of asBytes(parts)) await writeAll(handle, part)
      await handle.sync()
    } finally {
      await handle.close()
    }
  } catch (error) {
    await drop()
    throw ioFailure(error, path, 'write-failed')
  }
  return {
    async place({ replace = true } = {}) {
      try {
        if (replace) await rename(temporary, path)
        else await takeNewName(temporary, path)
        unfinished.delete(temporary)
      } catch (error) {
        await drop()
        throw ioFailure(error, path, 'write-failed')
      }
      await syncFolder(dirname(path))
    },
    drop,
  }
}

function asBytes(parts: Uint8Array | string | readonly Uint8Array[]): readonly Uint8Array[] {
  if (typeof parts === 'string') return [new TextEncoder().encode(parts)]
  return parts instanceof Uint8Array ? [parts] : parts
}

async function writeAll(handle: Awaited<ReturnType<typeof open>>, bytes: Uint8Array): Promise<void> {
  for (let at = 0; at < bytes.byteLength; ) {
    const { bytesWritten } = await handle.write(bytes, at, bytes.byteLength - at)
    at += bytesWritten
  }
}

/** Makes the rename itself durable. Best effort: some systems cannot open a folder, and the file is whole already. */
export async function syncFolder(folder: string): Promise<void> {
  const handle = await open(folder, 'r').catch(() => null)
  if (!handle) return
  await handle.sync().catch(() => {})
  await handle.close().catch(() => {})
}
