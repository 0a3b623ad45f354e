import { createHash } from 'node:crypto'
import { join } from 'node:path'
import { Failure } from '#core/base'
import type { Files, SaidFailure } from '#jobs/contract'
import { said } from './failures.ts'

const MOST_BYTES = 64 << 20

interface Schema<T> {
  safeParse(
    value: unknown,
  ):
    | { success: true; data: T }
    | { success: false; error: { issues: readonly { path: readonly PropertyKey[]; message: string }[] } }
}

export const tagOf = (text: string): string => createHash('sha256').update(text).digest('hex').slice(0, 32)

export async function textOf(files: Files, path: string): Promise<string | null> {
  if (!(await files.exists(path))) return null
  const bytes = await files.size(path)
  if (bytes > MOST_BYTES) throw new Failure('limit', 'document-too-large', { path, bytes, limit: MOST_BYTES })
  return new TextDecoder().decode(await files.read(path))
}

/** A document of the outing: its value and tag, or null where there is none or it cannot be used, which goes to `faults`. */
export async function documentOf<T>(
  files: Files,
  folder: string,
  name: string,
  schema: Schema<T>,
  faults: SaidFailure[],
): Promise<{ value: T; tag: string } | null> {
  const path = join(folder, name)
  try {
    const text = await textOf(files, path)
    if (text === null) return null
    const parsed = schema.safeParse(parse(path, text))
    if (parsed.success) return { value: parsed.data, tag: tagOf(text) }
    const [issue] = parsed.error.issues
    throw new Failure('malformed', 'document-field', {
      path,
      field: issue?.path.map(String).join('.') || 'the whole',
      problem: issue?.message ?? 'not as expected',
    })
  } catch (error) {
    if (!(error instanceof Failure)) throw error
    faults.push(said(error))
    return null
  }
}

function parse(path: string, text: string): unknown {
  try {
    return JSON.parse(text)
  } catch (error) {
    throw new Failure('malformed', 'not-json', { path, problem: (error as Error).message })
  }
}
