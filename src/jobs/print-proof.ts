import { Failure } from '#core/base'
import { metadataIn } from '#picture/export'
import type { PrintFormat, PrintProof } from './contract/index.ts'
import type { MadeFile } from './print-made.ts'

/** What a file has besides the facts that were kept on purpose: how it says its colours, and the packet of texts. */
const besideFacts = new Set(['profile', 'xmp', 'gain-map', 'picture-index', 'orientation', 'software'])
/** A DNG must name a camera; unless the real one is kept, that is one of our own. */
const dngFacts = new Set(['make', 'model'])

/**
 * Holds the bytes that came back from the disk against what was meant: the pixels by a reader that did not write them, the
 * metadata by a walk through the whole file that knows nothing of what should be there.
 */
export async function proofOf(made: MadeFile, format: PrintFormat, bytes: Uint8Array): Promise<PrintProof> {
  const { found, unexpected } = metadataIn(format, bytes)
  const odd = [
    ...unexpected,
    ...found.filter(
      (name) => !made.kept.includes(name) && !besideFacts.has(name) && !(format === 'dng' && dngFacts.has(name)),
    ),
    ...made.kept.filter((name) => !found.includes(name)).map((name) => `no ${name}`),
  ]
  const metadata = { reader: 'own walk through the file', found: [...found], unexpected: odd, ok: odd.length === 0 }
  let pixels: PrintProof['pixels']
  try {
    pixels = { reader: made.reader, ...(await made.check(bytes)) }
  } catch (error) {
    // A file that its reader refuses is not right, whatever the reason.
    if (!(error instanceof Failure) || error.kind === 'aborted') throw error
    pixels = { reader: made.reader, measure: 'exact', value: bytes.length, limit: 0, ok: false }
  }
  return { reader: 'independent decoder', ok: pixels.ok && metadata.ok, pixels, metadata }
}
