import { Failure, type LeftOut } from '#core/base'
import { type CardEntry, nameParts } from '#picture/card'
import type { Files, Host } from './contract/index.ts'
import { seeFile } from './see-file.ts'

const STILL_EXTENSIONS = new Set(['dng', 'jpg', 'jpeg', 'tif', 'tiff'])

/**
 * Reads the headers of files. What cannot be read is left out with the failure's code as its reason and never stops the
 * rest; a file that neither is nor claims to be a still picture becomes an `other` entry.
 */
export async function readHeaders(
  host: Host,
  paths: readonly string[],
): Promise<{ entries: CardEntry[]; leftOut: LeftOut[] }> {
  const entries: CardEntry[] = []
  const leftOut: LeftOut[] = []
  for (const [index, path] of paths.entries()) {
    host.throwIfStopped()
    try {
      entries.push(await readHeader(host.files, path))
    } catch (error) {
      if (!(error instanceof Failure) || error.kind === 'aborted') throw error
      leftOut.push({ what: path, reason: error.code, facts: { kind: error.kind, ...error.facts } })
    }
    host.progress({ stage: 'Reading frames', done: index + 1, total: paths.length })
  }
  return { entries, leftOut }
}

async function readHeader(files: Files, path: string): Promise<CardEntry> {
  const { kind, description } = await seeFile(files, path)
  if (description instanceof Failure) {
    const claims = STILL_EXTENSIONS.has(nameParts(path).extension.toLowerCase())
    if (kind === 'unknown' && !claims) return { file: path, kind: 'other' }
    throw description
  }
  const { width, height } = description
  return { file: path, kind: description.kind === 'dng' ? 'raw' : 'rendered', width, height, facts: description }
}
