import { Failure } from '#core/base'
import type { Host, PrintDocument } from './contract/index.ts'
import { requireIds } from './only.ts'
import { type PrintOptions, printRadiance } from './print.ts'
import { creditsOf } from './print-credits.ts'

export type PrintAllOptions = Omit<PrintOptions, 'outDirectory'> & {
  /** Where the prints go; by default prints/ beside brackets/, or beside the radiance file. */
  readonly out?: string
  /** Only these brackets, by id; all by default. */
  readonly brackets?: readonly string[]
}

/**
 * Prints of every radiance image of an outing or folder, or of one radiance file. One that cannot be printed is left out
 * by name and does not stop the others.
 * @throws Failure io; malformed "nothing-to-print"; usage "no-such-bracket"; and the first one's own failure when none could be printed
 */
export async function print(host: Host, path: string, options: PrintAllOptions): Promise<PrintDocument> {
  const { files } = host
  const { out, brackets, ...wishes } = options
  const taken = new Set<string>()
  if (!(await files.isDirectory(path))) {
    const outDirectory = out ?? besideBrackets(host, path)
    const { credits, leftOut } = await creditsOf(host, files.directoryName(files.resolve(besideBrackets(host, path))))
    const document = await withFile(path, () =>
      printRadiance(host, { ...wishes, credits, taken, radiancePath: path, outDirectory }),
    )
    return { ...document, leftOut: [...leftOut.map((l) => ({ ...l, facts: { ...l.facts } })), ...document.leftOut] }
  }
  const images = await radianceImages(host, path)
  if (images.length === 0) throw new Failure('malformed', 'nothing-to-print', { path })
  requireIds(
    path,
    brackets,
    images.map((i) => i.id),
  )
  const radiance = images.filter((i) => brackets?.includes(i.id) ?? true).map((i) => i.path)
  const prints: PrintDocument['prints'] = []
  const { credits, leftOut: unread } = await creditsOf(host, path)
  const leftOut: PrintDocument['leftOut'] = unread.map((l) => ({ ...l, facts: { ...l.facts } }))
  let failure: Failure | null = null
  for (const radiancePath of radiance) {
    host.throwIfStopped()
    try {
      const outDirectory = out ?? files.join(path, 'prints')
      const document = await withFile(radiancePath, () =>
        printRadiance(host, { ...wishes, credits, taken, radiancePath, outDirectory }),
      )
      prints.push(...document.prints)
      leftOut.push(...document.leftOut)
    } catch (error) {
      if (!(error instanceof Failure) || error.kind === 'aborted') throw error
      failure ??= error
      leftOut.push({ what: radiancePath, reason: error.code, facts: { kind: error.kind, ...error.facts } })
    }
  }
  if (prints.length === 0 && failure) throw failure
  return { schema: 'print/1', prints, leftOut }
}

/** A failure that names no file is about this one. */
async function withFile<T>(file: string, work: () => Promise<T>): Promise<T> {
  try {
    return await work()
  } catch (error) {
    const nameless = error instanceof Failure && error.kind !== 'aborted' && error.facts['path'] === undefined
    throw nameless ? error.with({ file }) : error
  }
}

async function radianceImages(host: Host, folder: string): Promise<{ id: string; path: string }[]> {
  const { files } = host
  const brackets = files.join(folder, 'brackets')
  if (!(await files.isDirectory(brackets))) return []
  const found: { id: string; path: string }[] = []
  for (const entry of await files.list(brackets)) {
    const path = files.join(entry.path, 'radiance.exr')
    if (entry.isDirectory && (await files.exists(path))) found.push({ id: entry.name, path })
  }
  return found
}

/** brackets/0007/radiance.exr → prints/ beside brackets/; any other file → its own folder. */
function besideBrackets({ files }: Host, path: string): string {
  const own = files.directoryName(path)
  const above = files.directoryName(files.resolve(own))
  return files.baseName(above) === 'brackets' ? files.join(files.directoryName(above), 'prints') : own
}
