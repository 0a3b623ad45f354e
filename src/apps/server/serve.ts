import { randomBytes } from 'node:crypto'
import type { Server } from 'node:http'
import { serve as listen } from '@hono/node-server'
import { Hono } from 'hono'
import { Failure } from '#core/base'
import type { Host, Progress } from '#jobs/contract'
import { type Asset, loadAssets } from './assets.ts'
import { createChanges } from './changes.ts'
import { createEvents } from './events.ts'
import { said, statusOf } from './failures.ts'
import { answerHeaders, guard, PAGE_POLICY } from './guard.ts'
import { createHistory } from './history.ts'
import { createOutingStates, revisionOf } from './outing-state.ts'
import { createOutings, type OpenedOuting } from './outings.ts'
import { createPictures } from './pictures.ts'
import { addRoutes } from './routes.ts'
import { createRunner } from './runner.ts'

export interface ServingOptions {
  readonly version: string
  /** The outing to open; null where the page is to offer a first one. */
  readonly outing: string | null
  /** Where outings begun on the page go when no outing was named. */
  readonly home: string
  /** Folders to offer as cards. */
  readonly cards: readonly string[]
  /** 0 takes any free one. */
  readonly port: number
  /** The built page's files. */
  readonly pageFolder: string
  createHost(asked: { onProgress(event: Progress): void; isStopped(): boolean }): Host
  /** A fault of ours, for the terminal. */
  fault(error: unknown): void
}

export interface Serving {
  /** What to open: it holds the token. */
  readonly address: string
  readonly port: number
  close(): Promise<void>
}

/** Documents are looked at this often while a window listens. */
const WATCH_MILLISECONDS = 1000
/** Connections that are held open at one time; more wait in the system's own queue. */
const MOST_CONNECTIONS = 512

/**
 * Serves the local page on the loopback address until closed. @throws Failure io "no-free-port"
 */
export async function startServer(options: ServingOptions): Promise<Serving> {
  const token = randomBytes(24).toString('base64url')
  const assets = await loadAssets(options.pageFolder)
  const host = options.createHost({ onProgress() {}, isStopped: () => false })
  const outings = createOutings(host.files, options)
  const events = createEvents()
  const history = createHistory(host.files)
  const revisions = new Map<string, string>()
  const changed = (outing: OpenedOuting) =>
    void revisionOf(outing.folder).then((revision) => {
      revisions.set(outing.id, revision)
      events.tell({ type: 'changed', outing: outing.id, revision })
    }, options.fault)
  const states = createOutingStates({ host, history, changed })
  const changes = createChanges(host, history)
  const pictures = createPictures(host)
  const runner = createRunner({
    createHost: options.createHost,
    tell: (job) => events.tell({ type: 'job', job }),
    fault: options.fault,
  })
  const parts = { host, version: options.version, outings, states, changes, events, runner, pictures, changed }

  let port = 0
  const app = new Hono()
  app.use(answerHeaders)
  app.use(guard({ token, port: () => port }))
  const api = new Hono()
  addRoutes(api, parts)
  app.route('/:token/api', api)
  app.get('/:token/assets/:name', (c) => {
    const asset = assets.get(c.req.param('name'))
    if (!asset || c.req.param('name') === 'index.html') throw new Failure('usage', 'no-such-page', {})
    return assetAnswer(asset, c.req.header('accept-encoding'), {
      'Cache-Control': 'private, max-age=31536000, immutable',
    })
  })
  const page = assets.get('index.html')
  const shell = page && Buffer.from(new TextDecoder().decode(page.bytes).replaceAll('{{root}}', `/${token}`))
  const pageAnswer = () => {
    if (!shell) throw new Failure('usage', 'no-such-page', {})
    return new Response(shell, {
      headers: { 'Content-Type': 'text/html; charset=utf-8', 'Content-Security-Policy': PAGE_POLICY },
    })
  }
  app.get('/:token', pageAnswer)
  app.get('/:token/', pageAnswer)
  app.get('/:token/o/*', pageAnswer)
  app.notFound(() => {
    throw new Failure('usage', 'no-such-page', {})
  })
  app.onError((error, c) => {
    if (!(error instanceof Failure)) options.fault(error)
    const status = error instanceof Failure ? statusOf(error) : 500
    const failure = said(error)
    if ((c.req.header('accept') ?? '').includes('text/html')) return c.html(plainPage(failure.sentence), status as 500)
    return c.json({ schema: 'failure/1', failure }, status as 500)
  })

  const server = await listening(app, options.port)
  const found = server.address()
  port = typeof found === 'object' && found ? found.port : 0
  server.maxConnections = MOST_CONNECTIONS

  const watch = setInterval(() => {
    if (events.listening === 0) return
    for (const outing of outings.all())
      void revisionOf(outing.folder).then(
        (revision) => {
          if (revisions.has(outing.id) && revisions.get(outing.id) !== revision)
            events.tell({ type: 'changed', outing: outing.id, revision })
          revisions.set(outing.id, revision)
        },
        () => {},
      )
  }, WATCH_MILLISECONDS)
  watch.unref()

  return {
    address: `http://127.0.0.1:${port}/${token}/`,
    port,
    async close() {
      clearInterval(watch)
      events.close()
      await runner.stopAll()
      await pictures.close()
      server.closeAllConnections()
      await new Promise<void>((resolve) => server.close(() => resolve()))
    },
  }
}

function assetAnswer(asset: Asset, accepts: string | undefined, headers: Record<string, string>): Response {
  const packed = /\bbr\b/.test(accepts ?? '')
  return new Response((packed ? asset.packed : asset.bytes) as Uint8Array<ArrayBuffer>, {
    headers: {
      'Content-Type': asset.type,
      ...(packed ? { 'Content-Encoding': 'br' } : {}),
      Vary: 'Accept-Encoding',
      ...headers,
    },
  })
}

/** Only the loopback address: nothing of this is ever seen from another machine. */
function listening(app: Hono, port: number): Promise<Server> {
  return new Promise((resolve, reject) => {
    const server = listen({ fetch: app.fetch, hostname: '127.0.0.1', port }, () => resolve(server)) as Server
    server.once('error', (error: NodeJS.ErrnoException) =>
      reject(new Failure('io', 'no-free-port', { port, errno: error.code ?? 'unknown' }, error)),
    )
  })
}

/** For whoever opens an address that is not the page: one sentence, no script, nothing of ours in it. */
const plainPage = (sentence: string) =>
  `<!doctype html><html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width"><title>Duskwork</title></head><body><main><h1>Duskwork</h1><p>${sentence.replace(/[&<>]/g, (c) => `&#${c.charCodeAt(0)};`)}</p></main></body></html>`
