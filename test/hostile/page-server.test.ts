// Requests that the page never makes: refused, or served within limits, and no file read or written outside.
import { mkdirSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import type { Serving } from '#apps/server'
import { checksums, scratchFolder } from '../program.ts'
import { openServing, rawRequest } from '../serving.ts'

const { folder, remove } = scratchFolder('page-hostile')
const SECRET = 'nobody may read this line'
const outing = join(folder, 'home', 'weir')
let serving: Serving & { faults: unknown[] }
let root = ''
let before: Record<string, string> = {}

beforeAll(async () => {
  for (const part of ['originals', 'prints', 'brackets/0001']) mkdirSync(join(outing, part), { recursive: true })
  writeFileSync(join(folder, 'secret.txt'), SECRET)
  writeFileSync(join(folder, 'home', 'secret.jpg'), SECRET)
  writeFileSync(join(outing, 'private.json'), SECRET)
  writeFileSync(join(outing, 'prints', 'no-record.jpg'), SECRET)
  serving = await openServing({ outing })
  root = new URL(serving.address).pathname.replace(/\/$/, '')
  before = checksums(folder)
})
afterAll(async () => {
  await serving.close()
  remove()
})

const get = (path: string, headers: Record<string, string> = {}) => rawRequest(serving.port, path, { headers })
const post = (path: string, body: string, headers: Record<string, string> = {}) =>
  rawRequest(serving.port, path, { method: 'POST', body, headers: { 'content-type': 'application/json', ...headers } })

/** The ways to write "one folder up" that servers have fallen for. */
const climbs = ['..', '%2e%2e', '.%2e', '%2E%2E', '%252e%252e', '..%00', '....', '..;', '%c0%ae%c0%ae', '%uff0e%uff0e']
const slashes = ['/', '%2f', '%2F', '%5c', '\\', '%252f', '//']

describe('a path that climbs', () => {
  it('reads nothing outside the page and the outing, in any spelling', async () => {
    const starts = [
      '/assets/',
      '/api/o/weir/print/',
      '/api/o/weir/picture/print/',
      '/api/o/weir/picture/frame/',
      '/api/o/weir/overlay/',
      '/api/o/weir/desk/',
      '/api/o/',
      '/o/weir/',
      '/',
    ]
    const ends = ['secret.txt', 'weir/private.json', 'no-record.jpg']
    let tried = 0
    for (const start of starts)
      for (const climb of climbs)
        for (const slash of slashes)
          for (const end of ends) {
            const up = `${climb}${slash}`
            for (const path of [`${up}${up}${up}${end}`, `x${slash}${up}${up}${end}`]) {
              const { status, text } = await get(`${root}${start}${path}`)
              tried++
              expect(text).not.toContain(SECRET)
              // The page itself answers below /o/ and at the root, whatever is written there: it holds no file of anybody.
              if (!text.includes('<div id="page">')) expect([400, 403, 404, 409, 422]).toContain(status)
            }
          }
    console.log(`${tried} climbing paths, none read a file`)
  })

  it.each(['/etc/passwd', '//etc/passwd', '/%2fetc%2fpasswd', 'file:///etc/passwd', 'http://127.0.0.1/'])(
    'as an absolute address (%s) is none of ours',
    async (path) => {
      const { status, text } = await get(path)
      expect(status).toBeGreaterThanOrEqual(400)
      expect(text).not.toContain('root:')
    },
  )

  it('writes nothing outside either', async () => {
    for (const name of [
      '..%2fx.jpg',
      '%2e%2e%2fx.jpg',
      '..%5cx.jpg',
      '.hidden.jpg',
      'a%00.jpg',
      'x.sh',
      '%2ftmp%2fx.jpg',
      'a%2fb.jpg',
    ]) {
      const { status } = await rawRequest(serving.port, `${root}/api/o/weir/recon/${name}`, {
        method: 'PUT',
        body: 'x',
      })
      expect([400, 404]).toContain(status)
    }
    const begun = await post(
      `${root}/api/outings`,
      JSON.stringify({ title: '../../../escaped', date: '2027-02-09', latitude: 50, longitude: 15 }),
    )
    // A title is words: the folder that it names lies in the home.
    expect(begun.status).toBe(201)
    const after = checksums(folder)
    const fresh = Object.keys(after).filter((f) => !(f in before))
    expect(fresh.length).toBeGreaterThan(0)
    for (const file of fresh) expect(file.startsWith(join('home', 'escaped'))).toBe(true)
    for (const [file, sum] of Object.entries(before)) expect([file, after[file]]).toEqual([file, sum])
  })
})

describe('a request that the page did not make', () => {
  it.each([
    ['a foreign host', { host: 'evil.example' }],
    ['a foreign host that resolves here', { host: 'rebound.example:80' }],
    ['another port', { host: '127.0.0.1:1' }],
    ['a foreign origin', { origin: 'http://evil.example' }],
    ['an origin of another port', { origin: 'http://127.0.0.1:1' }],
    ['a null origin', { origin: 'null' }],
    ['another site', { 'sec-fetch-site': 'cross-site' }],
    ['another port of this machine', { 'sec-fetch-site': 'same-site' }],
  ])('from %s is refused with 403, read or write', async (_, headers) => {
    for (const path of ['/', '/api/state', '/api/events', '/api/o/weir'])
      expect((await get(`${root}${path}`, headers)).status).toBe(403)
    expect((await post(`${root}/api/jobs`, '{"job":"demo"}', headers)).status).toBe(403)
  })

  it('without the token, or with one that is nearly it, is refused with 403', async () => {
    const token = root.slice(1)
    const wrong = [
      '',
      'x',
      token.slice(0, -1),
      `${token}x`,
      token.toLowerCase(),
      token.replace(/.$/, (c) => (c === 'a' ? 'b' : 'a')),
    ]
    for (const t of wrong.filter((w) => w !== token))
      for (const path of [`/${t}`, `/${t}/`, `/${t}/api/state`, `/${t}/assets/index.html`])
        expect((await get(path)).status).toBe(403)
    expect(token.length).toBeGreaterThanOrEqual(32)
  })

  it('by a form of another site (no JSON, no custom type) changes nothing', async () => {
    for (const type of ['text/plain', 'application/x-www-form-urlencoded', 'multipart/form-data'])
      expect((await post(`${root}/api/jobs`, '{"job":"demo"}', { 'content-type': type })).status).toBe(403)
  })

  it.each(['OPTIONS', 'TRACE', 'PATCH', 'PROPFIND'])('by %s is refused', async (method) => {
    const { status, headers } = await rawRequest(serving.port, `${root}/api/state`, { method })
    expect(status).toBe(403)
    expect(headers['access-control-allow-origin']).toBeUndefined()
  })

  it('says to the browser what it may do with the answer', async () => {
    const { headers, text } = await get(`${root}/`)
    expect(headers['content-security-policy']).toContain("default-src 'none'")
    expect(headers['content-security-policy']).toContain("frame-ancestors 'none'")
    expect(headers['x-content-type-options']).toBe('nosniff')
    expect(headers['referrer-policy']).toBe('no-referrer')
    expect(headers['cross-origin-resource-policy']).toBe('same-origin')
    expect(text.match(/https?:\/\//g)).toBeNull()
  })
})

describe('a body', () => {
  it('over the limit is refused, whether it says its length or not', async () => {
    const large = JSON.stringify({ job: 'group', padding: 'x'.repeat(2 << 20) })
    const stated = await post(`${root}/api/o/weir/jobs`, large)
    expect([0, 413]).toContain(stated.status)
    const unstated = await rawRequest(serving.port, `${root}/api/o/weir/jobs`, {
      method: 'POST',
      body: large,
      chunked: true,
      headers: { 'content-type': 'application/json' },
    })
    expect([0, 413]).toContain(unstated.status)
    const lying = await rawRequest(serving.port, `${root}/api/o/weir/recon/a.jpg`, {
      method: 'PUT',
      headers: { 'content-length': String(10 ** 10) },
    })
    expect([0, 413]).toContain(lying.status)
  })

  it.each([
    '',
    'null',
    '[]',
    '{',
    '{"job":"format-disk"}',
    '{"job":"merge","brackets":"x"}',
    `${'['.repeat(50_000)}`,
    '{"__proto__":{"job":"demo"}}',
  ])('that is none (%#) is refused by name', async (body) => {
    const { status, text } = await post(`${root}/api/o/weir/jobs`, body)
    expect(status).toBe(422)
    expect(JSON.parse(text)).toMatchObject({ schema: 'failure/1', failure: { code: 'body-form' } })
  })

  it('without end does not hold the server', async () => {
    const { status } = await rawRequest(serving.port, `${root}/api/o/weir/picture/frame/x/tile/-1/1e9/0x10`, {})
    expect(status).toBeGreaterThanOrEqual(400)
  })
})

it('a thousand requests at once are served or refused, and the next one is served', async () => {
  const statuses = await Promise.all(
    Array.from({ length: 1000 }, (_, i) =>
      get(`${root}/api/${i % 2 ? 'state' : 'o/weir'}`).then(
        (a) => a.status,
        () => 0,
      ),
    ),
  )
  const count = (s: number) => statuses.filter((x) => x === s).length
  console.log(`1000 at once: ${count(200)} served, ${count(503) + count(413)} refused, ${count(0)} not connected`)
  for (const s of statuses) expect([0, 200, 413, 503]).toContain(s)
  expect(count(200)).toBeGreaterThan(100)
  expect((await get(`${root}/api/state`)).status).toBe(200)
})

it('no request was a fault of ours', () => {
  expect(serving.faults).toEqual([])
})
