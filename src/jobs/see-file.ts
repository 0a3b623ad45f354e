import { Failure, malformed } from '#core/base'
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

/**
 * Reads as much of a file as its header takes and describes it. @throws Failure of kind io when it cannot be read at all
 */
export async function seeFile(files: Files, path: string): Promise<SeenFile> {
  const fileBytes = await files.size(path)
  let head = await files.readHead(path, HEAD_BYTES)
  for (;;) {
    const kind = sniff(head, fileBytes)
    const description = describe(kind, head, fileBytes)
    const needed =
      description instanceof Failure && description.code === 'beyond-head' ? description.facts['neededBytes'] : 0
    if (!(Number(needed) > head.length) || head.length >= fileBytes) return { kind, description }
    head = await files.readHead(path, Math.max(Number(needed), 2 * head.length))
  }
}
