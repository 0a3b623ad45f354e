import { Failure, type LeftOut } from '#core/base'
import { isSystemName } from '#picture/card'
import { COPYING_FOLDER, type Host } from './contract/index.ts'

/** A file as the walk found it. */
export interface FoundFile {
  /** Below the root, with forward slashes. */
  readonly file: string
  readonly path: string
  readonly bytes: number
  readonly modifiedMilliseconds: number
}

export interface Walked {
  readonly files: readonly FoundFile[]
  /** Folders and names that could not be looked at. */
  readonly failed: readonly { readonly file: string; readonly failure: Failure }[]
  /** What is no file of the photographer's: reasons system-file, link-not-followed, not-a-file. */
  readonly leftOut: readonly LeftOut[]
}

const MAX_DEPTH = 32
const MAX_FILES = 100_000

/**
 * Every file below a folder, in the order of folders and names. Links are not followed. A folder that cannot be read, or
 * is too deep, is a failure of its own and does not stop the rest.
 * @throws Failure io (the root), limit "too-many-files"
 */
export async function walk(host: Host, root: string): Promise<Walked> {
  const { disk, join } = host.files
  const files: FoundFile[] = []
  const failed: { file: string; failure: Failure }[] = []
  const leftOut: LeftOut[] = []

  async function visit(name: string, file: string, path: string, depth: number): Promise<void> {
    const found = await disk.look(path)
    // It was listed a moment ago: gone since, or a name that is no valid text and cannot be asked for.
    if (!found) throw new Failure('io', 'not-found', { path, errno: 'ENOENT' })
    if (found.kind === 'link' || found.kind === 'other') {
      leftOut.push({ what: file, reason: found.kind === 'link' ? 'link-not-followed' : 'not-a-file', facts: {} })
    } else if (name === COPYING_FOLDER || isSystemName(name, found.kind)) {
      leftOut.push({ what: file, reason: 'system-file', facts: {} })
    } else if (found.kind === 'folder') {
      if (depth >= MAX_DEPTH) throw new Failure('limit', 'folders-too-deep', { path, limit: MAX_DEPTH })
      await enter(`${file}/`, path, depth + 1)
    } else {
      const { bytes, modifiedMilliseconds } = found
      files.push({ file, path, bytes, modifiedMilliseconds })
      if (files.length > MAX_FILES) throw new Failure('limit', 'too-many-files', { path: root, limit: MAX_FILES })
    }
  }

  async function enter(prefix: string, folder: string, depth: number): Promise<void> {
    for (const name of await disk.names(folder)) {
      host.throwIfStopped()
      const file = `${prefix}${name}`
      try {
        await visit(name, file, join(folder, name), depth)
      } catch (error) {
        if (!(error instanceof Failure) || error.kind === 'aborted' || error.code === 'too-many-files') throw error
        failed.push({ file, failure: error })
      }
    }
  }

  await enter('', root, 1)
  return { files, failed, leftOut }
}
