// What the page's server does with an outing on disk: changes, windows that disagree, and disks that fail.
import { mkdirSync, readFileSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { afterAll, describe, expect, it } from 'vitest'
import type { ChangeRequest, JobState, OutingDocument, OutingState, PageState } from '#jobs/contract'
import { outingSchema } from '#jobs/schemas'
import { noise, writeCard } from '../card.ts'
import { faultyFiles, ioError } from '../faulty-disk.ts'
import { scratchFolder } from '../program.ts'
import { openServing } from '../serving.ts'

const { folder, remove } = scratchFolder('page-server')
const open: { close(): Promise<void> }[] = []
afterAll(async () => {
  for (const o of open) await o.close()
  remove()
})

async function opened(wish: Parameters<typeof openServing>[0]) {
  const serving = await openServing(wish)
  open.push(serving)
  const api = `${serving.address}api`
  const ask = async (path: string, init?: RequestInit) => {
    const answer = await fetch(`${api}${path}`, init)
    return { status: answer.status, body: (await answer.json()) as unknown }
  }
  const send = (path: string, body: unknown, method = 'POST') =>
    ask(path, { method, headers: { 'content-type': 'application/json' }, body: JSON.stringify(body) })
  return { serving, ask, send, api }
}

const outingDocument = (title: string): OutingDocument =>
  outingSchema.parse({
    schema: 'outing/1',
    title,
    date: '2027-02-09',
    site: { name: 'weir', latitude: 50, longitude: 15, timeZone: 'Europe/Prague' },
  })

function newOuting(name: string): string {
  const at = join(folder, name)
  mkdirSync(at, { recursive: true })
  writeFileSync(join(at, 'outing.json'), `${JSON.stringify(outingDocument(name), null, 2)}\n`)
  return at
}

const titled = (state: OutingState, title: string): ChangeRequest => ({
  change: 'outing',
  tag: state.outingTag,
  document: { ...state.outing!, title },
  words: 'the title',
})

describe('two windows on one outing', () => {
  it('cannot write over each other: the second is told, and shown what the first wrote', async () => {
    const at = newOuting('two-windows')
    const { ask, send } = await opened({ outing: at })
    const state = (await ask('/o/two-windows')).body as OutingState
    const first = await send('/o/two-windows/change', titled(state, 'the first window'))
    const second = await send('/o/two-windows/change', titled(state, 'the second window'))
    expect([first.status, second.status]).toEqual([200, 412])
    expect(second.body).toMatchObject({ failure: { code: 'changed-meanwhile' } })
    expect(((await ask('/o/two-windows')).body as OutingState).title).toBe('the first window')
  })

  it('that write at the same moment leave one whole document, forty times over', async () => {
    const at = newOuting('same-moment')
    const { ask, send } = await opened({ outing: at })
    for (let i = 0; i < 40; i++) {
      const state = (await ask('/o/same-moment')).body as OutingState
      const answers = await Promise.all([
        send('/o/same-moment/change', titled(state, `a ${i}`)),
        send('/o/same-moment/change', titled(state, `b ${i}`)),
      ])
      expect(answers.map((a) => a.status).sort()).toEqual([200, 412])
      const written = outingSchema.parse(JSON.parse(readFileSync(join(at, 'outing.json'), 'utf8')))
      expect([`a ${i}`, `b ${i}`]).toContain(written.title)
    }
  })
})

describe('a change', () => {
  it('is written as the command line reads it, and can be taken back and done again, to the byte', async () => {
    const at = newOuting('undone')
    const path = join(at, 'outing.json')
    const { ask, send } = await opened({ outing: at })
    const original = readFileSync(path, 'utf8')
    const state = (await ask('/o/undone')).body as OutingState
    const changed = (await send('/o/undone/change', titled(state, 'another'))).body as OutingState
    expect([changed.title, changed.undo]).toEqual(['another', 'the title'])
    const written = readFileSync(path, 'utf8')
    const back = (await send('/o/undone/change', { change: 'undo' })).body as OutingState
    expect([back.title, back.undo, back.redo]).toEqual(['undone', null, 'the title'])
    expect(readFileSync(path, 'utf8')).toBe(original)
    await send('/o/undone/change', { change: 'redo' })
    expect(readFileSync(path, 'utf8')).toBe(written)
  })

  it('is not taken back over what another program wrote since', async () => {
    const at = newOuting('foreign-hand')
    const { ask, send } = await opened({ outing: at })
    const state = (await ask('/o/foreign-hand')).body as OutingState
    await send('/o/foreign-hand/change', titled(state, 'by the page'))
    writeFileSync(join(at, 'outing.json'), JSON.stringify(outingDocument('by hand')))
    const { status } = await send('/o/foreign-hand/change', { change: 'undo' })
    expect(status).toBe(412)
    expect(((await ask('/o/foreign-hand')).body as OutingState).title).toBe('by hand')
  })

  it('to a disk that is full is told with the next step, and the old document stands', async () => {
    const at = newOuting('full')
    const files = faultyFiles({})
    const { ask, send } = await opened({
      outing: at,
      files: {
        ...files,
        write: async (path) => {
          throw ioError('no-space', path, 'ENOSPC')
        },
      },
    })
    const original = readFileSync(join(at, 'outing.json'), 'utf8')
    const state = (await ask('/o/full')).body as OutingState
    const { status, body } = await send('/o/full/change', titled(state, 'lost?'))
    expect(status).toBe(409)
    expect((body as { failure: { sentence: string } }).failure.sentence).toMatch(/the disk is full; make room/)
    expect(readFileSync(join(at, 'outing.json'), 'utf8')).toBe(original)
  })

  it('by another program reaches every window that listens, within two seconds', async () => {
    const at = newOuting('live')
    const { ask, api } = await opened({ outing: at })
    await ask('/o/live')
    const stop = new AbortController()
    const answer = await fetch(`${api}/events`, { signal: stop.signal })
    const reader = answer.body!.getReader()
    let heard = ''
    const listening = (async () => {
      while (!heard.includes('event: changed')) {
        const { value, done } = await reader.read()
        if (done) return
        heard += new TextDecoder().decode(value)
      }
    })()
    await new Promise((resolve) => setTimeout(resolve, 1300))
    writeFileSync(join(at, 'outing.json'), JSON.stringify(outingDocument('written elsewhere')))
    await listening
    stop.abort()
    expect(heard).toContain('"outing":"live"')
  })
})

/** Waits for a job's end by asking, as a window that lost its stream would. */
async function ended(ask: (path: string) => Promise<{ body: unknown }>, id: string): Promise<JobState> {
  for (;;) {
    const job = ((await ask('/state')).body as PageState).jobs.find((j) => j.id === id)!
    if (!['waiting', 'running'].includes(job.state)) return job
    await new Promise((resolve) => setTimeout(resolve, 30))
  }
}

describe('a card that is pulled', () => {
  it('is named, what was copied is proven, and the card is not called safe', async () => {
    const card = join(folder, 'card')
    writeCard(card, Object.fromEntries([1, 2, 3, 4, 5].map((i) => [`DCIM/FILE_${i}.BIN`, noise(300_000, i)])))
    let reads = 0
    const files = faultyFiles({
      onCardRead(path) {
        if (++reads > 4) throw ioError('disk-gone', path, 'ENODEV')
      },
    })
    const { ask, send } = await opened({ home: join(folder, 'home-pulled'), files, cards: [card] })
    const started = (await send('/jobs', { job: 'card', card })).body as { job: JobState; outing: string }
    const job = await ended(ask, started.job.id)
    const state = (await ask(`/o/${encodeURIComponent(started.outing)}`)).body as OutingState
    const said = JSON.stringify(job)
    expect(said).toMatch(/put it back in and run the same command again/)
    expect(state.copy?.safeToWipe ?? false).toBe(false)
  })
})

describe('a frame that cannot be read', () => {
  it('is left out by name and reason, and asking for its picture says the same', async () => {
    const at = newOuting('unreadable')
    mkdirSync(join(at, 'originals'))
    writeFileSync(join(at, 'originals', 'A.DNG'), '')
    writeFileSync(
      join(at, 'originals', 'B.JPG'),
      Buffer.from('ffd8ffc0000b080008001001011100ffda0008010100003f00ffd9', 'hex'),
    )
    const { ask } = await opened({ outing: at })
    const state = (await ask('/o/unreadable')).body as OutingState
    expect(state.group!.leftOut.map((l) => [l.what, l.reason])).toEqual([['originals/A.DNG', 'empty-file']])
    const none = await ask('/o/unreadable/picture/frame/originals%2FA.DNG/small')
    expect(none.status).toBe(404)
    const damaged = await ask('/o/unreadable/picture/frame/originals%2FB.JPG/small')
    expect(damaged.status).toBe(422)
    expect((damaged.body as { failure: { sentence: string } }).failure.sentence).toMatch(/B\.JPG|decoded/)
  })

  it('as outing.json that is no JSON is a fault that is shown, not a page that is empty', async () => {
    const at = newOuting('no-json')
    writeFileSync(join(at, 'outing.json'), '{ "schema": ')
    const { ask } = await opened({ outing: at })
    const state = (await ask('/o/no-json')).body as OutingState
    expect(state.outing).toBeNull()
    expect(state.faults.map((f) => f.code)).toEqual(['not-json'])
  })
})
