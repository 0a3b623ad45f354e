import { Failure, type LeftOut } from '#core/base'
import { type CardEntry, nameParts } from '#picture/card'
import { describeRaw, describeRendered, sniff } from '#picture/raw'
import type { Files, Host } from './contract/index.ts'

/** Enough for the header of most stills: directories, Exif, XMP, a thumbnail and small opcode lists. */
const HEAD_BYTES = 256 * 1024
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
  const fileBytes = await files.size(path)
  let head = await files.readHead(path, HEAD_BYTES)
  for (;;) {
    try {
      const entry = describe(path, head, fileBytes)
      if (entry) return entry
      if (head.length >= fileBytes) return describeTiff(path, head, fileBytes)
      head = await files.read(path)
    } catch (error) {
      // A header that reaches past the head says how far: come back with that much, at least doubling each time.
      const needed = error instanceof Failure && error.code === 'beyond-head' ? Number(error.facts['neededBytes']) : 0
      if (!(needed > head.length) || head.length >= fileBytes) throw error
      head = await files.readHead(path, Math.max(needed, 2 * head.length))
    }
  }
}

/** Null where the head shows a TIFF structure but not yet whether it is a raw file. */
function describe(path: string, head: Uint8Array, fileBytes: number): CardEntry | null {
  const kind = sniff(head, fileBytes)
  if (kind === 'tiff') return null
  if (kind === 'dng') return describeTiff(path, head, fileBytes)
  if (kind === 'jpeg') {
    const facts = describeRendered(head, fileBytes)
    return { file: path, kind: 'rendered', width: facts.width, height: facts.height, facts }
  }
  if (!STILL_EXTENSIONS.has(nameParts(path).extension.toLowerCase())) return { file: path, kind: 'other' }
  throw new Failure('malformed', fileBytes === 0 ? 'empty-file' : 'not-a-picture', { fileBytes })
}

function describeTiff(path: string, head: Uint8Array, fileBytes: number): CardEntry {
  const facts = describeRaw(head, fileBytes)
  return { file: path, kind: 'raw', width: facts.width, height: facts.height, facts }
}
