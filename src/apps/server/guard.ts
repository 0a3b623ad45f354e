import { timingSafeEqual } from 'node:crypto'
import type { MiddlewareHandler } from 'hono'
import { Failure, overLimit } from '#core/base'

/** Requests that are being answered at one time; beyond it they are refused at once and cost nothing. */
export const MOST_AT_ONCE = 256

const refused = (why: string) => new Failure('usage', 'not-allowed', { why })

/** Equal in time that does not tell where they differ. */
export function sameToken(given: string, token: string): boolean {
  const [a, b] = [Buffer.from(given), Buffer.from(token)]
  return a.length === b.length && timingSafeEqual(a, b)
}

/**
 * Lets through what the opened page itself asks for and nothing else: our own name for the host (a foreign name that
 * resolves to this machine has another), no foreign origin, no request that another site started, the token in the path.
 */
export function guard(options: { readonly token: string; readonly port: () => number }): MiddlewareHandler {
  let working = 0
  return async (c, next) => {
    const hosts = [`127.0.0.1:${options.port()}`, `localhost:${options.port()}`]
    if (!hosts.includes(c.req.header('host') ?? '')) throw refused('host')
    const origin = c.req.header('origin')
    if (origin !== undefined && !hosts.some((h) => origin === `http://${h}`)) throw refused('origin')
    // Browsers say who started a request; "none" is the user, by the address bar or a bookmark.
    const site = c.req.header('sec-fetch-site')
    if (site !== undefined && site !== 'same-origin' && site !== 'none') throw refused('site')
    const [, token = ''] = c.req.path.split('/')
    if (!sameToken(token, options.token)) throw refused('token')
    if (!['GET', 'HEAD', 'POST', 'PUT', 'DELETE'].includes(c.req.method)) throw refused('method')
    if (working >= MOST_AT_ONCE) throw overLimit('too-many-requests', { limit: MOST_AT_ONCE })
    working++
    try {
      await next()
    } finally {
      working--
    }
  }
}

/** What every answer says: nothing may be loaded from elsewhere, framed elsewhere, sniffed, or remembered by a proxy. */
export const answerHeaders: MiddlewareHandler = async (c, next) => {
  await next()
  const { headers } = c.res
  headers.set('X-Content-Type-Options', 'nosniff')
  headers.set('Referrer-Policy', 'no-referrer')
  headers.set('Cross-Origin-Resource-Policy', 'same-origin')
  headers.set('Cross-Origin-Opener-Policy', 'same-origin')
  headers.set('X-Frame-Options', 'SAMEORIGIN')
  if (!headers.has('Cache-Control')) headers.set('Cache-Control', 'no-store')
  if (!headers.has('Content-Security-Policy')) headers.set('Content-Security-Policy', "default-src 'none'")
}

/** Styles inside the drawings are their own; scripts are files of ours alone. */
export const PAGE_POLICY =
  "default-src 'none'; script-src 'self'; style-src 'self' 'unsafe-inline'; img-src 'self' blob: data:; connect-src 'self'; frame-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
