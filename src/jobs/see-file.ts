import { Failure, malformed } from '#core/base'
import { readInParts } from '#core/formats'
import { describeRaw, describeRendered, type RawFile, type RenderedFile, sniff } from '#picture/raw'
import type { Files } from './contract/index.ts'

/** A file by its own first bytes; what it holds, or why that cannot be used. */
export interface SeenFile {
  readonly kind: 'dng' | 'jpeg' | 'tiff' | 'unknown'
  readonly description: RawFile | RenderedFile | Failure
}

/** Enough for the header of most stills: directories, Exif, XMP, a thumbnail and small opcode lists. */
const HEAD_BYTES = 256 * 1024

function describe(kind: SeenFile['kind'], head: Uint8Array, fileBytes: number): RawFile | RenderedFile | Failure {
  try {
    if (kind === 'jpeg') return describeRendered(head, fileBytes)
    if (kind === 'dng' || kind === 'tiff') return describeRaw(head, fileBytes)
    throw malformed(fileBytes === 0 ? 'empty-file' : 'not-a-picture', { fileBytes })
  } catch (error) {
    if (error instanceof Failure) return error
    throw error
  }
}

/** A header scattered over more places than this is read as a whole file. */
const MOST_PARTS = 24

/**
 * Reads as much of a file as its header takes and describes it: its beginning, and for a header that lies elsewhere (some
 * writers put it after the pixels) the places it points to. @throws Failure of kind io when it cannot be read at all
 */
export async function seeFile(files: Files, path: string): Promise<SeenFile> {
  const fileBytes = await files.size(path)
  const head = await files.readHead(path, HEAD_BYTES)
  const kind = sniff(head, fileBytes)
  let description = describe(kind, head, fileBytes)
  if (offsetBeyond(description) === null || head.length >= fileBytes) return { kind, description }

  const bytes = new Uint8Array(fileBytes)
  bytes.set(head)
  const parts = [{ from: 0, to: head.length }]
  for (;;) {
    const missing = offsetBeyond(description)
    if (missing === null) return { kind, description }
    const whole = parts.length > MOST_PARTS
    const from = whole ? 0 : missing.from
    const to = whole ? fileBytes : Math.min(fileBytes, Math.max(missing.to, from + HEAD_BYTES))
    const found = await files.readAt(path, from, bytes.subarray(from, to))
    // A file that shrinks while it is read says so by what is missing.
    if (found < to - from)
      return { kind, description: malformed('file-cut-short', { wantedBytes: fileBytes, fileBytes: from + found }) }
    parts.push({ from, to })
    readInParts(bytes, parts)
    description = describe(kind, bytes, fileBytes)
  }
}

/** The place that a description still wants to read, or null. */
function offsetBeyond(description: RawFile | RenderedFile | Failure): { from: number; to: number } | null {
  if (!(description instanceof Failure) || description.code !== 'beyond-head') return null
  return { from: Number(description.facts['offset']), to: Number(description.facts['neededBytes']) }
}
