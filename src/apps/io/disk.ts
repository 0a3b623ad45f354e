import { createHash } from 'node:crypto'
import type { Stats } from 'node:fs'
import { constants, lstat, open, readdir, realpath, rename, rm, rmdir, stat, statfs } from 'node:fs/promises'
import { basename, dirname, join, resolve, sep } from 'node:path'
import { Failure } from '#core/base'
import type { CopyFile, Disk, Looked, SourceFile } from '#jobs/contract'
import { claimFolder } from './claim.ts'
import { type Attempt, ioFailure } from './failures.ts'
import { syncFolder, unfinished } from './write.ts'

/** Not on every system, and then 0: nothing changes in the flags. */
const { O_RDONLY, O_NOFOLLOW = 0, O_NONBLOCK = 0 } = constants
const { O_NOATIME = 0, O_DIRECT = 0 } = constants as { O_NOATIME?: number; O_DIRECT?: number }

/** The `Disk` port on Node's file system. */
export function createDisk(): Disk {
  return {
    look: (path) => attempt(path, 'read-failed', () => lookOrNull(path)),
    names: (folder) => attempt(folder, 'list-failed', async () => (await readdir(folder)).sort()),
    openSource: (path) => openReading(path, O_NOATIME),
    openBack: (path) => openReading(path, O_DIRECT),
    create,
    move,
    syncFolder,
    removeEmpty: (folder) =>
      rmdir(folder).then(
        () => true,
        () => false,
      ),
    freeBytes: (path) =>
      attempt(path, 'read-failed', async () => {
        const found = await statfs(await nearestThere(path)).catch(() => null)
        return found && found.bsize > 0 ? found.bavail * found.bsize : null
      }),
    holds: (folder, path) => attempt(path, 'read-failed', () => holds(folder, path)),
    sameDisk: (a, b) =>
      attempt(a, 'read-failed', async () => {
        const [deviceA, deviceB] = await Promise.all([a, b].map(async (p) => (await stat(await nearestThere(p))).dev))
        return deviceA === deviceB
      }),
    claim: (folder) => claimFolder(folder),
    // WebAssembly memory begins on a page of the system's, which direct reading asks for; Node's own buffers need not.
    buffer(bytes) {
      const pages = Math.ceil(bytes / 65_536)
      const memory = new WebAssembly.Memory({ initial: pages, maximum: pages, shared: true })
      return new Uint8Array(memory.buffer, 0, bytes)
    },
    sum() {
      const hash = createHash('sha256')
      return { update: (bytes) => void hash.update(bytes), hex: () => hash.digest('hex') }
    },
  }
}

async function attempt<T>(path: string, name: Attempt, work: () => Promise<T>): Promise<T> {
  try {
    return await work()
  } catch (error) {
    throw ioFailure(error, path, name)
  }
}

const isNothing = (error: unknown) =>
  ['ENOENT', 'ENOTDIR'].includes((error as NodeJS.ErrnoException | null)?.code ?? '')

function looked(found: Stats): Looked {
  const kind = found.isFile() ? 'file' : found.isDirectory() ? 'folder' : found.isSymbolicLink() ? 'link' : 'other'
  return { kind, bytes: found.size, modifiedMilliseconds: found.mtimeMs }
}

async function lookOrNull(path: string): Promise<Looked | null> {
  try {
    return looked(await lstat(path))
  } catch (error) {
    if (isNothing(error)) return null
    throw error
  }
}

/**
 * Opens a file with one more flag where the system takes it: O_NOATIME is refused to those who do not own the file,
 * O_DIRECT by disks that keep their files in memory or on a network, some of them only at the first read.
 */
async function openReading(path: string, wish: number): Promise<SourceFile> {
  return attempt(path, 'read-failed', async () => {
    const found = await lookOrNull(path)
    if (found?.kind === 'link') throw new Failure('io', 'link-not-followed', { path })
    if (found?.kind === 'folder') throw new Failure('io', 'is-a-folder', { path, errno: 'EISDIR' })
    if (found?.kind === 'other') throw new Failure('io', 'not-a-file', { path, errno: 'none' })
    // Not blocking: should a pipe have taken the file's place since, opening it would wait for ever.
    const plain = O_RDONLY | O_NOFOLLOW | O_NONBLOCK
    const openPlain = () => open(path, plain)
    const refused = (error: unknown) => ['EPERM', 'EINVAL'].includes((error as NodeJS.ErrnoException).code ?? '')
    let direct = wish !== 0 && wish === O_DIRECT
    let handle = await open(path, plain | wish).catch((error: unknown) => {
      if (wish === 0 || !refused(error)) throw error
      direct = false
      return openPlain()
    })
    let at = 0
    async function readSome(into: Uint8Array, from: number): Promise<number> {
      try {
        return (await handle.read(into, from, into.byteLength - from, at)).bytesRead
      } catch (error) {
        if (!direct || !refused(error)) throw error
        await handle.close()
        handle = await openPlain()
        direct = false
        return readSome(into, from)
      }
    }
    return {
      aroundMemory: () => direct,
      look: () => attempt(path, 'read-failed', async () => looked(await handle.stat())),
      read: (into) =>
        attempt(path, 'read-failed', async () => {
          let filled = 0
          while (filled < into.byteLength) {
            const some = await readSome(into, filled)
            filled += some
            at += some
            // A direct read ends within a block only where the file ends, and another from there would be refused.
            if (some === 0 || (direct && some % 512 !== 0)) break
          }
          return filled
        }),
      close: () => handle.close().catch(() => {}),
    }
  })
}

async function create(path: string): Promise<CopyFile> {
  return attempt(path, 'write-failed', async () => {
    const handle = await open(path, 'wx')
    unfinished.add(path)
    let open_ = true
    const close = async () => {
      if (open_) await handle.close()
      open_ = false
    }
    return {
      append: (part) =>
        attempt(path, 'write-failed', async () => {
          const bytes = typeof part === 'string' ? new TextEncoder().encode(part) : part
          for (let at = 0; at < bytes.byteLength; )
            at += (await handle.write(bytes, at, bytes.byteLength - at)).bytesWritten
        }),
      finish: (modifiedMilliseconds) =>
        attempt(path, 'write-failed', async () => {
          if (modifiedMilliseconds !== null) {
            const seconds = modifiedMilliseconds / 1000
            // A disk that keeps no such times keeps the picture all the same.
            await handle.utimes(seconds, seconds).catch(() => {})
          }
          await handle.sync()
          await close()
        }),
      async discard() {
        await close().catch(() => {})
        await rm(path, { force: true }).catch(() => {})
        unfinished.delete(path)
      },
    }
  })
}

async function move(from: string, to: string): Promise<void> {
  await attempt(to, 'write-failed', () => rename(from, to))
  unfinished.delete(from)
  await syncFolder(dirname(to))
}

/** The path itself, or the first folder above it that is there. */
async function nearestThere(path: string): Promise<string> {
  const whole = resolve(path)
  if (await lookOrNull(whole)) return realpath(whole).catch(() => nearestThere(dirname(whole)))
  const above = dirname(whole)
  return above === whole ? whole : nearestThere(above)
}

/** By identity on the disk and not by name: letter case, links and mounts give one folder many names. */
async function holds(folder: string, path: string): Promise<boolean> {
  const wanted = await stat(folder, { bigint: true }).catch(() => null)
  if (!wanted) return holdsByName(await futurePath(folder), await futurePath(path))
  for (let place = await nearestThere(path); ; place = dirname(place)) {
    const found = await stat(place, { bigint: true })
    if (found.dev === wanted.dev && found.ino === wanted.ino) return true
    if (dirname(place) === place) return false
  }
}

/** Of a folder that is not there yet there is only the name; letter case aside, since the disk may put it aside too. */
function holdsByName(folder: string, path: string): boolean {
  const [outer, inner] = [folder, path].map((p) => p.normalize('NFC').toLowerCase()) as [string, string]
  return inner === outer || inner.startsWith(outer.endsWith(sep) ? outer : outer + sep)
}

/** A path with the part of it that is there by its true name. */
async function futurePath(path: string): Promise<string> {
  const whole = resolve(path)
  if (await lookOrNull(whole)) return nearestThere(whole)
  const above = dirname(whole)
  return above === whole ? whole : join(await futurePath(above), basename(whole))
}
