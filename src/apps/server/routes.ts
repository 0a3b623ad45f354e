import { readFile, stat } from 'node:fs/promises'
import { join } from 'node:path'
import type { Context, Hono } from 'hono'
import { Failure } from '#core/base'
import { light, planMinute, readOutingDocument, startOuting } from '#jobs'
import type { Host, JobRequest, LightDocument, PageState, PictureState, PixelState, PlanDocument } from '#jobs/contract'
import {
  changeRequestSchema,
  jobRequestSchema,
  lookRequestSchema,
  looksSchema,
  newOutingRequestSchema,
  planSchema,
} from '#jobs/schemas'
import { bodyBytes, bodyOf, MOST_UPLOAD_BYTES } from './body.ts'
import type { Changes } from './changes.ts'
import { documentOf } from './documents.ts'
import type { Events } from './events.ts'
import { planWithPages, RECON_FOLDER, workOf } from './jobs.ts'
import type { OutingStates } from './outing-state.ts'
import { DEMO_FOLDER, type OpenedOuting, type Outings } from './outings.ts'
import { type Pictures, TILE } from './pictures.ts'
import type { Runner } from './runner.ts'

export interface Parts {
  readonly host: Host
  readonly version: string
  readonly outings: Outings
  readonly states: OutingStates
  readonly changes: Changes
  readonly events: Events
  readonly runner: Runner
  readonly pictures: Pictures
  changed(outing: OpenedOuting): void
}

/** A year: whatever carries a stamp in its address never changes under that address. */
const FOREVER = 'private, max-age=31536000, immutable'
/** Evenings whose light is kept. */
const MOST_LIGHTS = 40
/** Small pictures of a check serve up to this size. */
const MOST_CHECKED_SIDE = 240
const PHOTOGRAPH = /^[\p{L}\p{N}][\p{L}\p{N} ._()-]{0,120}\.(dng|jpe?g)$/iu

const bytesAnswer = (c: Context, bytes: Uint8Array, type: string, stamped: boolean) =>
  c.body(bytes as Uint8Array<ArrayBuffer>, 200, {
    'Content-Type': type,
    'Cache-Control': stamped ? FOREVER : 'no-store',
  })

const whole = (text: string | undefined): number => {
  const value = Number(text)
  if (!/^\d{1,6}$/.test(text ?? '')) throw new Failure('usage', 'no-such-picture', { wanted: text ?? 'nothing' })
  return value
}

/** Every address below the token that is not the page itself. */
export function addRoutes(app: Hono, parts: Parts): void {
  const outingOf = (c: Context): OpenedOuting => parts.outings.get(c.req.param('outing') ?? '')
  addPageRoutes(app, parts)
  addOutingRoutes(app, parts, outingOf)
  addEveningRoutes(app, parts, outingOf)
  addPictureRoutes(app, parts, outingOf)
}

function addPageRoutes(app: Hono, parts: Parts): void {
  const { outings, runner } = parts
  app.get('/state', async (c) => {
    const state: PageState = {
      version: parts.version,
      home: outings.home,
      outings: await outings.list(),
      cards: await outings.cards(),
      jobs: runner.states(),
      demo: (await outings.hasDemo()) ? null : join(outings.home, DEMO_FOLDER),
    }
    return c.json(state)
  })
  app.get('/events', (c) => parts.events.stream(c))
  app.post('/jobs', async (c) => {
    const request = await bodyOf(c, jobRequestSchema)
    const folder = await newOutingFor(parts, request)
    // The page goes there at once, before the job has written anything.
    await parts.host.files.makeDirectory(folder)
    const outing = outings.open(folder)
    return c.json({ job: await start(parts, outing, request), outing: outing.id }, 202)
  })
  app.post('/jobs/:id/stop', (c) => c.json(runner.stop(c.req.param('id'))))
  app.post('/outings', async (c) => {
    const asked = await bodyOf(c, newOutingRequestSchema)
    const folder = await outings.newFolder(asked.title)
    await startOuting(parts.host.files, folder, asked)
    const outing = outings.open(folder)
    await planWithPages(parts.host, folder).catch(onlyFailures)
    return c.json({ outing: outing.id }, 201)
  })
}

async function newOutingFor({ outings }: Parts, request: JobRequest): Promise<string> {
  if (request.job === 'demo') return join(outings.home, DEMO_FOLDER)
  if (request.job !== 'card') throw new Failure('usage', 'no-such-outing', { wanted: 'none' })
  return outings.newFolder(request.title ?? `${new Date().toISOString().slice(0, 10)} card`)
}

async function start(parts: Parts, outing: OpenedOuting, request: JobRequest) {
  // The page goes there at once: the folder must not be missing until the job has got round to making it.
  if (request.job === 'demo') await parts.host.files.makeDirectory(outing.folder)
  const active = parts.runner.active(request.job, outing.id)
  if (active) return active
  const sources = {
    files: parts.host.files,
    grouping: parts.states.grouping,
    merged: async (o: OpenedOuting) => (await parts.states.read(o)).merged,
    changed: parts.changed,
  }
  return parts.runner.start(workOf(outing, request, sources))
}

const onlyFailures = (error: unknown) => {
  if (!(error instanceof Failure)) throw error
}

type OutingOf = (c: Context) => OpenedOuting

function addOutingRoutes(app: Hono, parts: Parts, outingOf: OutingOf): void {
  const { host, states } = parts
  app.get('/o/:outing', async (c) => c.json(await states.read(outingOf(c))))
  app.post('/o/:outing/change', async (c) => {
    const outing = outingOf(c)
    const asked = await bodyOf(c, changeRequestSchema)
    await parts.changes.apply(outing, asked)
    // A plan is a function of outing.json: it follows at once, where there is enough to plan with.
    if (['outing', 'undo', 'redo'].includes(asked.change)) await replan(host, outing)
    parts.changed(outing)
    return c.json(await states.read(outing))
  })
  app.post('/o/:outing/begin', async (c) => {
    const outing = outingOf(c)
    await startOuting(host.files, outing.folder, await bodyOf(c, newOutingRequestSchema))
    await replan(host, outing)
    parts.changed(outing)
    return c.json(await states.read(outing), 201)
  })
  app.post('/o/:outing/jobs', async (c) => {
    const outing = outingOf(c)
    return c.json({ job: await start(parts, outing, await bodyOf(c, jobRequestSchema)), outing: outing.id }, 202)
  })
  app.delete('/o/:outing/work', async (c) => {
    const outing = outingOf(c)
    await host.files.remove(join(outing.folder, 'work.json'))
    parts.changed(outing)
    return c.json(await states.read(outing))
  })
  app.put('/o/:outing/recon/:name', async (c) => {
    const outing = outingOf(c)
    const name = c.req.param('name')
    if (!PHOTOGRAPH.test(name)) throw new Failure('usage', 'upload-name', { found: name })
    const bytes = await bodyBytes(c, MOST_UPLOAD_BYTES)
    const folder = join(outing.folder, RECON_FOLDER)
    await host.files.makeDirectory(folder)
    await host.files.write(join(folder, name), bytes)
    return c.json({ bytes: bytes.length }, 201)
  })
}

async function replan(host: Host, { folder }: OpenedOuting): Promise<void> {
  if (await host.files.exists(join(folder, 'outing.json'))) await planWithPages(host, folder).catch(onlyFailures)
}

function addEveningRoutes(app: Hono, parts: Parts, outingOf: OutingOf): void {
  const { host } = parts
  const lights = new Map<string, LightDocument>()
  const stated = async (outing: OpenedOuting) => {
    if (!(await host.files.exists(join(outing.folder, 'outing.json'))))
      throw new Failure('usage', 'no-outing-document', { path: outing.folder })
    return readOutingDocument(host.files, outing.folder)
  }
  app.get('/o/:outing/light', async (c) => {
    const { site, date, weather, aircraft } = await stated(outingOf(c))
    if (site.latitude === null || site.longitude === null) throw new Failure('usage', 'no-place', {})
    const day = c.req.query('date') ?? date
    // The same place, sky and day give the same light.
    const key = JSON.stringify([site, weather.cloud, aircraft?.sensingLux, day])
    const known = lights.get(key)
    if (known) return c.json(known)
    const document = await light({
      latitude: site.latitude,
      longitude: site.longitude,
      timeZone: site.timeZone,
      date: day,
      cloud: weather.cloud,
      skyglowMagnitudes: site.skyglowMagnitudes,
      eyeMetres: 0,
      sensingLux: aircraft?.sensingLux ?? 10,
    })
    lights.set(key, document)
    for (const old of lights.keys()) {
      if (lights.size <= MOST_LIGHTS) break
      lights.delete(old)
    }
    return c.json(document)
  })
  app.get('/o/:outing/minute', async (c) => {
    const outing = outingOf(c)
    const asked = { viewpoint: c.req.query('viewpoint') ?? null, utc: c.req.query('utc') ?? '' }
    const date = c.req.query('date')
    const document = await stated(outing)
    return c.json(await planMinute(date ? { ...document, date } : document, outing.folder, asked))
  })
  app.get('/o/:outing/card', async (c) => {
    const found = await documentOf(host.files, outingOf(c).folder, 'plan.json', planSchema, [])
    if (!found) throw new Failure('usage', 'no-such-page', {})
    const { renderFieldCard } = await import('#apps/report')
    const html = renderFieldCard(found.value as PlanDocument)
    // The form for paper is the same page with its rules for paper in force.
    const shown = c.req.query('form') === 'paper' ? html.replaceAll('@media print', '@media all') : html
    return c.html(shown, 200, {
      'Content-Security-Policy': "default-src 'none'; style-src 'unsafe-inline'; frame-ancestors 'self'",
    })
  })
}

function addPictureRoutes(app: Hono, parts: Parts, outingOf: OutingOf): void {
  const { host, pictures, states } = parts

  /** A frame by its name below the outing: only names that the grouping lists are frames. */
  async function fileOf(outing: OpenedOuting, name: string, kind: 'frame' | 'camera'): Promise<string> {
    const grouping = await states.grouping(outing)
    const frames = [...(grouping?.brackets.flatMap((b) => b.frames) ?? []), ...(grouping?.singles ?? [])]
    const frame = frames.find((f) => f.file === name)
    const file =
      kind === 'frame' ? frame?.file : (frame?.companion ?? (/\.jpe?g$/i.test(name) ? frame?.file : undefined))
    if (!file) throw new Failure('usage', 'no-such-picture', { wanted: name })
    return join(outing.folder, file)
  }
  const stampOf = async (path: string) => {
    const found = await stat(path).catch(() => null)
    if (!found) throw new Failure('io', 'not-found', { path })
    return `${found.size}-${Math.round(found.mtimeMs)}`
  }
  async function mergedOf(outing: OpenedOuting, id: string) {
    const path = join(outing.folder, 'brackets')
    const known = await host.files.list(path).catch(() => [])
    if (!known.some((e) => e.isDirectory && e.name === id))
      throw new Failure('usage', 'no-such-picture', { wanted: id })
    return stampOf(join(path, id, 'radiance.exr'))
  }
  async function lookOf(outing: OpenedOuting, id: string) {
    const found = await documentOf(host.files, outing.folder, 'looks.json', looksSchema, [])
    return found?.value.looks[id] ?? null
  }
  async function printOf(outing: OpenedOuting, name: string): Promise<string> {
    const folder = join(outing.folder, 'prints')
    const entries = await host.files.list(folder).catch(() => [])
    const names = new Set(entries.map((e) => e.name))
    if (!names.has(name) || !names.has(`${name}.record.json`))
      throw new Failure('usage', 'no-such-picture', { wanted: name })
    return join(folder, name)
  }
  async function pyramidOf(c: Context) {
    const outing = outingOf(c)
    const name = c.req.param('name') ?? ''
    switch (c.req.param('kind')) {
      case 'frame':
      case 'camera': {
        const path = await fileOf(outing, name, c.req.param('kind') as 'frame' | 'camera')
        return pictures.frame(path, await stampOf(path))
      }
      case 'merged':
        return pictures.merged(outing.folder, name, await mergedOf(outing, name), await lookOf(outing, name))
      case 'print': {
        const path = await printOf(outing, name)
        return pictures.print(path, await stampOf(path))
      }
      default:
        throw new Failure('usage', 'no-such-picture', { wanted: name })
    }
  }

  app.get('/o/:outing/picture/:kind/:name/size', async (c) => {
    const { levels } = await pyramidOf(c)
    const { width, height } = levels[0]!
    const sizes = levels.map((l) => ({ width: l.width, height: l.height }))
    const state: PictureState = { width, height, tile: TILE, levels: sizes }
    return c.json(state)
  })
  app.get('/o/:outing/picture/:kind/:name/tile/:level/:column/:row', async (c) => {
    const pyramid = await pyramidOf(c)
    const [level, column, row] = [whole(c.req.param('level')), whole(c.req.param('column')), whole(c.req.param('row'))]
    return bytesAnswer(
      c,
      await pictures.tile(pyramid, level, column, row),
      'image/jpeg',
      c.req.query('v') !== undefined,
    )
  })
  app.get('/o/:outing/picture/:kind/:name/pixel', async (c) => {
    const { levels } = await pyramidOf(c)
    const picture = levels[0]!
    const [x, y] = [whole(c.req.query('x')), whole(c.req.query('y'))]
    if (x >= picture.width || y >= picture.height)
      throw new Failure('usage', 'no-such-picture', { wanted: `${x},${y}` })
    const at = (y * picture.width + x) * picture.channels
    const code = [0, 1, 2].map((i) => picture.data[at + (picture.channels === 3 ? i : 0)]!) as [number, number, number]
    const name = c.req.param('name')
    const outing = outingOf(c)
    const found =
      c.req.param('kind') === 'merged'
        ? await parts.pictures.desk(outing.folder, name, await mergedOf(outing, name))
        : null
    return c.json(pixelState(x, y, code, found?.at(x, y) ?? null, found?.state.candelaPerSquareMetrePerUnit ?? null))
  })
  app.get('/o/:outing/picture/:kind/:name/small', async (c) => {
    const outing = outingOf(c)
    const name = c.req.param('name')
    const kind = c.req.param('kind')
    const side = Math.min(1024, Math.max(32, whole(c.req.query('side') ?? '240')))
    const stamped = c.req.query('v') !== undefined
    if (kind === 'merged') {
      await mergedOf(outing, name)
      const path = join(outing.folder, 'brackets', name, 'preview.jpg')
      return bytesAnswer(c, await pictures.reduced(path, await stampOf(path), side), 'image/jpeg', stamped)
    }
    if (kind !== 'frame' && kind !== 'camera') throw new Failure('usage', 'no-such-picture', { wanted: name })
    const path = await fileOf(outing, name, kind)
    const made = kind === 'frame' ? states.smallPicture(outing, name) : null
    if (made !== null && side <= MOST_CHECKED_SIDE && (await host.files.exists(made)))
      return bytesAnswer(c, await pictures.reduced(made, await stampOf(made), side), 'image/jpeg', stamped)
    return bytesAnswer(c, await pictures.small(path, await stampOf(path), side), 'image/jpeg', stamped)
  })
  app.get('/o/:outing/overlay/:bracket/:name', async (c) => {
    const outing = outingOf(c)
    const bracket = c.req.param('bracket')
    await mergedOf(outing, bracket)
    const name = c.req.param('name')
    if (name !== 'sources.png') throw new Failure('usage', 'no-such-picture', { wanted: name })
    const path = join(outing.folder, 'brackets', bracket, name)
    if (!(await host.files.exists(path))) throw new Failure('usage', 'no-such-picture', { wanted: name })
    return bytesAnswer(c, await readFile(path), 'image/png', c.req.query('v') !== undefined)
  })
  app.get('/o/:outing/desk/:bracket', async (c) => {
    const outing = outingOf(c)
    const id = c.req.param('bracket')
    return c.json((await pictures.desk(outing.folder, id, await mergedOf(outing, id))).state)
  })
  app.post('/o/:outing/desk/:bracket/preview', async (c) => {
    const outing = outingOf(c)
    const id = c.req.param('bracket')
    const { settings } = await bodyOf(c, lookRequestSchema)
    const desk = await pictures.desk(outing.folder, id, await mergedOf(outing, id))
    return bytesAnswer(c, await desk.preview(settings), 'image/jpeg', false)
  })
  app.get('/o/:outing/print/:name', async (c) => {
    const path = await printOf(outingOf(c), c.req.param('name'))
    const type = path.endsWith('.jpg')
      ? 'image/jpeg'
      : path.endsWith('.tif')
        ? 'image/tiff'
        : 'application/octet-stream'
    return bytesAnswer(c, await readFile(path), type, false)
  })
}

function pixelState(
  x: number,
  y: number,
  code: PixelState['code'],
  radiance: PixelState['radiance'],
  candela: number | null,
): PixelState {
  const luminance = radiance && 0.2126 * radiance[0] + 0.7152 * radiance[1] + 0.0722 * radiance[2]
  const stops = luminance !== null && luminance > 0 ? Number(Math.log2(luminance).toFixed(2)) : null
  // EV at ISO 100 of a luminance: K = 12.5 (ISO 2720), so that L = 2^EV / 8.
  const ev100 = stops === null || candela === null ? null : Number((stops + Math.log2(8 * candela)).toFixed(2))
  return { x, y, radiance, stops, ev100, code }
}
