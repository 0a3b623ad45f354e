import { Failure, type LeftOut } from '#core/base'
import type { Host } from './contract/index.ts'

/** What an outing says of its pictures, for one of them. */
export interface PrintCredits {
  readonly title: string | null
  readonly author: string | null
  readonly copyright: string | null
  captionOf(bracket: string): string | null
}

export const noCredits: PrintCredits = { title: null, author: null, copyright: null, captionOf: () => null }

/**
 * The credits of outing.json in a folder; none where there is no such document. One that cannot be read is named and does not
 * keep a picture from being printed.
 */
export async function creditsOf(
  host: Host,
  folder: string,
): Promise<{ credits: PrintCredits; leftOut: readonly LeftOut[] }> {
  const path = host.files.join(folder, 'outing.json')
  if (!(await host.files.exists(path))) return { credits: noCredits, leftOut: [] }
  try {
    const { readOutingDocument } = await import('./outing-document.ts')
    const { title, credits } = await readOutingDocument(host.files, folder)
    const { author, copyright, caption, captions } = credits
    return {
      credits: { title, author, copyright, captionOf: (bracket) => captions[bracket] ?? caption },
      leftOut: [],
    }
  } catch (error) {
    if (!(error instanceof Failure) || error.kind === 'aborted') throw error
    return {
      credits: noCredits,
      leftOut: [{ what: path, reason: error.code, facts: { kind: error.kind, ...error.facts } }],
    }
  }
}
