import { request } from 'node:http'
import { dirname, join } from 'node:path'
import { fileURLToPath } from 'node:url'
import { createHost } from '#apps/io'
import { type Serving, startServer } from '#apps/server'
import type { Files, Host } from '#jobs/contract'

/** The page as the build leaves it. */
const pageFolder = join(dirname(fileURLToPath(import.meta.url)), '../dist/web')

/** The server in this process, over real files or such as fail; for whatever takes no threads. */
export async function openServing(
  wish: { outing?: string | null; home?: string; cards?: readonly string[]; files?: Files } = {},
): Promise<Serving & { readonly faults: unknown[] }> {
  const faults: unknown[] = []
  const serving = await startServer({
    version: '1.2.3',
    outing: wish.outing ?? null,
    home: wish.home ?? '.',
    cards: wish.cards ?? [],
    port: 0,
    pageFolder,
    createHost: (asked): Host => ({
      ...createHost({ ...asked, version: '1.2.3', kernels: 'plain' }),
      ...(wish.files ? { files: wish.files } : {}),
    }),
    fault: (error) => faults.push(error),
  })
  return { ...serving, faults }
}

export interface Answer {
  readonly status: number
  readonly text: string
  readonly headers: Readonly<Record<string, string | string[] | undefined>>
}

/** One request with its path and headers exactly as given: a client that tidies up would hide what is tried. */
export function rawRequest(
  port: number,
  path: string,
  options: { method?: string; headers?: Record<string, string>; body?: string | Buffer; chunked?: boolean } = {},
): Promise<Answer> {
  return new Promise((resolve, reject) => {
    const { method = 'GET', headers = {}, body } = options
    const asked = request(
      {
        host: '127.0.0.1',
        port,
        path,
        method,
        agent: false,
        headers: {
          host: `127.0.0.1:${port}`,
          ...headers,
          ...(body !== undefined && !options.chunked ? { 'content-length': String(Buffer.byteLength(body)) } : {}),
        },
      },
      (answer) => {
        const parts: Buffer[] = []
        answer.on('data', (part: Buffer) => parts.push(part))
        answer.on('end', () =>
          resolve({
            status: answer.statusCode ?? 0,
            text: Buffer.concat(parts).toString('latin1'),
            headers: answer.headers,
          }),
        )
        answer.on('error', reject)
      },
    )
    // A refusal may close the connection while the body is still being sent.
    asked.on('error', (error: NodeJS.ErrnoException) =>
      ['EPIPE', 'ECONNRESET'].includes(error.code ?? '')
        ? resolve({ status: 0, text: '', headers: {} })
        : reject(error),
    )
    if (body !== undefined) asked.write(body)
    asked.end()
  })
}
