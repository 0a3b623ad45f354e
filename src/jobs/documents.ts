import { Failure } from '#core/base'
import { utf8Text } from '#core/formats'
import type { Files } from './contract/index.ts'

/**
 * Passes when `path` is free or holds a document of the same name and of this version or an older one; what a later
 * version of this program wrote may say more than we would write in its place.
 * @throws Failure unsupported "newer-document"
 */
export async function mayReplace(files: Files, path: string, schema: string): Promise<void> {
  if (!(await files.exists(path))) return
  const found = schemaOf(utf8Text(await files.read(path)) ?? '')
  const [name, version] = schema.split('/')
  const [foundName, foundVersion] = found?.split('/') ?? []
  if (foundName === name && Number(foundVersion) > Number(version))
    throw new Failure('unsupported', 'newer-document', { path, found: found!, expected: schema })
}

function schemaOf(text: string): string | null {
  try {
    const schema = (JSON.parse(text) as { schema?: unknown } | null)?.schema
    return typeof schema === 'string' ? schema : null
  } catch {
    return null
  }
}
