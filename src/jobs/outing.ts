import { Failure, type LeftOut, overLimit } from '#core/base'
import type { Files } from './contract/index.ts'

/** A folder to take frames from. In an outing they lie below originals/; in any other folder, below the folder itself. */
export interface Outing {
  readonly folder: string
  readonly isOuting: boolean
  /** Where the frames lie. */
  readonly frames: string
  /** A path below the folder as it is written into documents: relative, with forward slashes. */
  relative(path: string): string
}

/** @throws Failure io "not-found" or "not-a-folder" */
export async function findOuting(files: Files, folder: string): Promise<Outing> {
  if (!(await files.exists(folder))) throw new Failure('io', 'not-found', { path: folder })
  if (!(await files.isDirectory(folder))) throw new Failure('io', 'not-a-folder', { path: folder })
  const originals = files.join(folder, 'originals')
  const isOuting = await files.isDirectory(originals)
  const root = files.resolve(folder)
  return {
    folder,
    isOuting,
    frames: isOuting ? originals : folder,
    relative(path) {
      const whole = files.resolve(path)
      return (whole.startsWith(root) ? whole.slice(root.length) : whole).replaceAll('\\', '/').replace(/^\/+/, '')
    },
  }
}

/** A camera card is three folders deep at most; a year of outings is no outing. */
const MAX_DEPTH = 4
const MAX_FILES = 20_000

/**
 * Every file below the frames' folder, hidden ones included, in the order of folders and names; not our own products. A
 * folder below it that cannot be listed goes to `leftOut`, where that is given, with the failure's code as its reason.
 */
export async function filesBelow(files: Files, outing: Outing, leftOut?: LeftOut[]): Promise<string[]> {
  const paths: string[] = []
  const entriesOf = async (folder: string, depth: number) => {
    try {
      return await files.list(folder)
    } catch (error) {
      if (!leftOut || depth === 1 || !(error instanceof Failure)) throw error
      leftOut.push({ what: folder, reason: error.code, facts: { kind: error.kind, ...error.facts } })
      return []
    }
  }
  const walk = async (folder: string, depth: number): Promise<void> => {
    const entries = await entriesOf(folder, depth)
    const names = new Set(entries.map((e) => e.name))
    // Products stand beside their record: a radiance image's folder has one, a print has one of its own name.
    // A merge that was stopped may have left the image without its record.
    if (names.has('record.json') || names.has('radiance.exr')) return
    for (const entry of entries) {
      if (entry.isDirectory) {
        if (depth < MAX_DEPTH) await walk(entry.path, depth + 1)
      } else if (!names.has(`${entry.name}.record.json`) && !entry.name.endsWith('.record.json')) paths.push(entry.path)
      if (paths.length > MAX_FILES) throw overLimit('too-many-files', { path: outing.frames, limit: MAX_FILES })
    }
  }
  await walk(outing.frames, 1)
  return paths
}
