import { Failure } from '#core/base'
import { utf8Text } from '#core/formats'
import { type OutingDocument, outingSchema, type Site, siteFileSchema } from '#jobs/schemas'
import type { Files } from './contract/index.ts'

/** A document written by hand is some kilobytes; a hundred times that is another kind of file. */
const MAX_BYTES = 4 << 20

/**
 * outing.json of an outing, with the defaults of whatever it does not say.
 * @throws Failure io (no such file), malformed "not-json", "wrong-document", "document-field", unsupported "newer-document"
 */
export const readOutingDocument = async (files: Files, folder: string): Promise<OutingDocument> =>
  readDocument(files, files.join(folder, 'outing.json'), 'outing/1', (value) => outingSchema.safeParse(value))

/** A site in a file of its own; the same failures. */
export async function readSite(files: Files, path: string): Promise<Site> {
  const { schema: _, ...site } = await readDocument(files, path, 'site/1', (value) => siteFileSchema.safeParse(value))
  return site
}

type Parsed<T> =
  | { success: true; data: T }
  | { success: false; error: { issues: readonly { path: readonly PropertyKey[]; message: string }[] } }

async function readDocument<T>(
  files: Files,
  path: string,
  schema: string,
  parse: (value: unknown) => Parsed<T>,
): Promise<T> {
  const bytes = await files.size(path)
  if (bytes > MAX_BYTES) throw new Failure('limit', 'document-too-large', { path, bytes, limit: MAX_BYTES })
  const value = jsonOf(path, utf8Text(await files.read(path)))
  requireSchema(path, value, schema)
  const parsed = parse(value)
  if (parsed.success) return parsed.data
  const [issue] = parsed.error.issues
  const field = issue?.path.map(String).join('.') || 'the whole'
  throw new Failure('malformed', 'document-field', { path, field, problem: issue?.message ?? 'not as expected' })
}

function jsonOf(path: string, text: string | null): unknown {
  try {
    if (text !== null) return JSON.parse(text)
  } catch (error) {
    throw new Failure('malformed', 'not-json', { path, problem: (error as Error).message })
  }
  throw new Failure('malformed', 'not-json', { path, problem: 'it is not UTF-8 text' })
}

/** The name and version at the head of the document; a later version is refused by name. */
function requireSchema(path: string, value: unknown, wanted: string): void {
  const found = (value as { schema?: unknown } | null)?.schema
  if (found === wanted) return
  const [name, version] = wanted.split('/')
  const [foundName, foundVersion] = typeof found === 'string' ? found.split('/') : []
  if (foundName === name && Number(foundVersion) > Number(version))
    throw new Failure('unsupported', 'newer-document', { path, found: String(found), expected: wanted })
  throw new Failure('malformed', 'wrong-document', {
    path,
    found: typeof found === 'string' ? found : null,
    expected: wanted,
  })
}
