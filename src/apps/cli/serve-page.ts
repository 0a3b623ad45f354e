import { spawn } from 'node:child_process'
import process from 'node:process'
import { fileURLToPath } from 'node:url'
import { removeAbandonedFiles } from '#apps/io'
import { startServer } from '#apps/server'
import { Failure } from '#core/base'
import type { Host } from '#jobs/contract'
import type { Machine } from './session.ts'

/** How long after the wish to stop the server still works, at most. */
const LOOK_MILLISECONDS = 100

export interface ServeWish {
  readonly outing: string | null
  readonly home: string
  readonly cards: readonly string[]
  readonly port: number
  readonly kernels: 'simd' | 'plain'
  readonly json: boolean
  readonly open: boolean
}

/** Serves the page until the user asks to stop. @throws Failure io (the outing, a card, the port) */
export async function servePage(
  { terminal, version, createHost }: Machine,
  host: Host,
  wish: ServeWish,
): Promise<void> {
  for (const folder of [...(wish.outing === null ? [] : [wish.outing]), ...wish.cards]) {
    if (!(await host.files.exists(folder))) throw new Failure('io', 'not-found', { path: folder })
    if (!(await host.files.isDirectory(folder))) throw new Failure('io', 'not-a-folder', { path: folder })
  }
  if (wish.outing !== null) await removeAbandonedFiles(wish.outing)
  const serving = await startServer({
    version,
    outing: wish.outing,
    home: wish.home,
    cards: wish.cards,
    port: wish.port,
    // From dist/apps/bundle/, where this runs.
    pageFolder: fileURLToPath(new URL('../../web/', import.meta.url)),
    createHost: (asked) => createHost({ ...asked, kernels: wish.kernels }),
    fault: (error) => {
      terminal.err.write(`duskwork: ${error instanceof Error ? (error.stack ?? error.message) : String(error)}\n`)
    },
  })
  const { address, port } = serving
  terminal.out.write(
    wish.json
      ? `${JSON.stringify({ schema: 'serve/1', address, port, leftOut: [] }, null, 2)}\n`
      : `The page is at\n  ${address}\nfor this machine alone. Ctrl+C ends it; nothing is lost by that.\n`,
  )
  if (wish.open) openInBrowser(address)
  try {
    await untilStopped(host)
  } finally {
    await serving.close()
  }
}

function untilStopped(host: Host): Promise<void> {
  return new Promise((resolve) => {
    const timer = setInterval(() => {
      try {
        host.throwIfStopped()
      } catch {
        clearInterval(timer)
        resolve()
      }
    }, LOOK_MILLISECONDS)
  })
}

/** By the system's own opener; where there is none, the address was printed. */
function openInBrowser(address: string): void {
  const [command, ...args] =
    process.platform === 'darwin'
      ? ['open', address]
      : process.platform === 'win32'
        ? ['cmd', '/c', 'start', '', address]
        : ['xdg-open', address]
  const child = spawn(command!, args, { stdio: 'ignore', detached: true })
  child.on('error', () => {})
  child.unref()
}
