import type { Context } from 'hono'
import { Failure, malformed, overLimit } from '#core/base'

/** Documents are some kilobytes; a long outing.json a hundred. */
export const MOST_JSON_BYTES = 1 << 20
/** One photograph of a recon flight. */
export const MOST_UPLOAD_BYTES = 120 << 20

interface Schema<T> {
  safeParse(
    value: unknown,
  ):
    | { success: true; data: T }
    | { success: false; error: { issues: readonly { path: readonly PropertyKey[]; message: string }[] } }
}

/** The bytes of a request's body. @throws Failure limit "body-too-large", whatever the length header says */
export async function bodyBytes(c: Context, limit: number): Promise<Uint8Array> {
  const stated = Number(c.req.header('content-length') ?? 0)
  if (stated > limit) throw overLimit('body-too-large', { limit })
  const reader = c.req.raw.body?.getReader()
  const parts: Uint8Array[] = []
  let bytes = 0
  while (reader) {
    const { done, value } = await reader.read()
    if (done) break
    bytes += value.length
    if (bytes > limit) {
      await reader.cancel().catch(() => {})
      throw overLimit('body-too-large', { limit })
    }
    parts.push(value)
  }
  return Buffer.concat(parts)
}

/** A request's body by its schema. @throws Failure malformed "body-form", limit "body-too-large" */
export async function bodyOf<T>(c: Context, schema: Schema<T>): Promise<T> {
  if (!(c.req.header('content-type') ?? '').startsWith('application/json'))
    throw new Failure('usage', 'not-allowed', { why: 'content-type' })
  const text = new TextDecoder().decode(await bodyBytes(c, MOST_JSON_BYTES))
  let value: unknown
  try {
    value = JSON.parse(text)
  } catch (error) {
    throw malformed('body-form', { field: 'the whole', problem: (error as Error).message })
  }
  const parsed = schema.safeParse(value)
  if (parsed.success) return parsed.data
  const [issue] = parsed.error.issues
  throw malformed('body-form', {
    field: issue?.path.map(String).join('.') || 'the whole',
    problem: issue?.message ?? 'is not as expected',
  })
}
