import { createHash } from 'node:crypto'
import { readdir, stat } from 'node:fs/promises'
import { basename, join, relative, resolve, sep } from 'node:path'
import { Failure } from '#core/base'
import { group } from '#jobs'
import type {
  CheckDocument,
  GroupDocument,
  Host,
  MergedState,
  OutingState,
  PrintState,
  SaidFailure,
} from '#jobs/contract'
import {
  checkSchema,
  copyManifestSchema,
  looksSchema,
  outingSchema,
  planSchema,
  printRecordSchema,
  radianceRecordSchema,
  workSchema,
} from '#jobs/schemas'
import { documentOf } from './documents.ts'
import { said } from './failures.ts'
import type { History } from './history.ts'
import type { OpenedOuting } from './outings.ts'

/** The first screen does not wait longer than this for a grouping; it is told when that is there. */
const PATIENCE_MILLISECONDS = 500
const DOCUMENTS = ['outing.json', 'plan.json', 'corrections.json', 'check.json', 'copy.json', 'looks.json', 'work.json']

const stampOf = async (path: string): Promise<string | null> => {
  const found = await stat(path).catch(() => null)
  return found && `${found.size}-${Math.round(found.mtimeMs)}`
}

const namesIn = (folder: string): Promise<string[]> =>
  readdir(folder).then(
    (n) => n.sort(),
    () => [],
  )

/** What changes when anything that the page shows has changed on disk. */
export async function revisionOf(folder: string): Promise<string> {
  const parts: string[] = []
  const look = async (...path: string[]) => parts.push(`${path.join('/')}=${await stampOf(join(folder, ...path))}`)
  for (const name of DOCUMENTS) await look(name)
  await look('originals')
  for (const id of await namesIn(join(folder, 'brackets')))
    for (const name of ['record.json', 'preview.jpg', 'sources.png']) await look('brackets', id, name)
  for (const name of await namesIn(join(folder, 'prints')))
    if (name.endsWith('.record.json')) await look('prints', name)
  return createHash('sha256').update(parts.join('\n')).digest('hex').slice(0, 16)
}

/** Reads an outing's folder for the page; keeps the grouping, which takes the reading of every header. */
export function createOutingStates(options: {
  readonly host: Host
  readonly history: History
  changed(outing: OpenedOuting): void
}) {
  const { host } = options
  const groups = new Map<
    string,
    { key: string; document: GroupDocument | null; fault: SaidFailure | null; work: Promise<void> }
  >()

  /** A grouping counts until the originals or the corrections change. */
  async function grouped(outing: OpenedOuting) {
    const originals = join(outing.folder, 'originals')
    const key = `${await stampOf(originals)} ${await stampOf(join(outing.folder, 'corrections.json'))}`
    const known = groups.get(outing.id)
    if (known?.key === key) return known
    const entry = {
      key,
      document: null as GroupDocument | null,
      fault: null as SaidFailure | null,
      work: Promise.resolve(),
    }
    if (known?.document) entry.document = known.document
    groups.set(outing.id, entry)
    entry.work = (async () => {
      try {
        const { document } = await group(host, outing.folder)
        entry.document = withNamesBelow(document, outing.folder)
      } catch (error) {
        if (!(error instanceof Failure)) throw error
        entry.document = null
        entry.fault = error.code === 'no-frames' ? null : said(error)
      }
    })()
    return entry
  }

  async function groupNow(
    outing: OpenedOuting,
  ): Promise<{ document: GroupDocument | null; fault: SaidFailure | null }> {
    if (!(await host.files.isDirectory(join(outing.folder, 'originals')))) return { document: null, fault: null }
    const entry = await grouped(outing)
    let late = false
    const patience = new Promise<void>((resolve) =>
      setTimeout(() => {
        late = true
        resolve()
      }, PATIENCE_MILLISECONDS).unref(),
    )
    const done = entry.work.then(() => {
      if (late) options.changed(outing)
    })
    await Promise.race([done, patience])
    return entry
  }

  const smalls = new Map<string, ReadonlyMap<string, string>>()

  return {
    /** The small picture that a check made of a frame, as far as the last reading of the outing knows. */
    smallPicture: (outing: OpenedOuting, file: string): string | null => smalls.get(outing.id)?.get(file) ?? null,
    grouping: async (outing: OpenedOuting): Promise<GroupDocument | null> => {
      if (!(await host.files.isDirectory(join(outing.folder, 'originals')))) return null
      const entry = await grouped(outing)
      await entry.work
      return entry.document
    },
    async read(outing: OpenedOuting): Promise<OutingState> {
      const { folder } = outing
      const { files } = host
      if (!(await files.isDirectory(folder))) throw new Failure('io', 'not-found', { path: folder })
      const faults: SaidFailure[] = []
      const read = <T>(name: string, schema: Parameters<typeof documentOf<T>>[3]) =>
        documentOf(files, folder, name, schema, faults)
      const [revision, stated, plan, copied, check, looks, work, names] = await Promise.all([
        revisionOf(folder),
        read('outing.json', outingSchema),
        read('plan.json', planSchema),
        read('copy.json', copyManifestSchema),
        read('check.json', checkSchema),
        read('looks.json', looksSchema),
        read('work.json', workSchema),
        namesIn(join(folder, 'originals')),
      ])
      const { document: grouping, fault } = await groupNow(outing)
      smalls.set(outing.id, smallPicturesOf(folder, check?.value ?? null))
      if (fault) faults.push(fault)
      const { undo, redo } = options.history.words(outing.id)
      return {
        id: outing.id,
        title: stated?.value.title ?? basename(folder),
        folder,
        revision,
        outing: stated?.value ?? null,
        outingTag: stated?.tag ?? null,
        plan: plan?.value ?? null,
        originals: names.filter((n) => !n.startsWith('.')).length,
        copy: copied && {
          card: copied.value.card,
          safeToWipe: copied.value.safeToWipe,
          files: copied.value.files.length,
          failed: copied.value.files.flatMap((f) =>
            f.outcome === 'failed' ? [{ file: f.file, reason: f.reason ?? 'unknown' }] : [],
          ),
        },
        group: grouping,
        check: check?.value ?? null,
        merged: await mergedOf(files, folder, grouping, faults),
        prints: await printsOf(files, folder),
        looks: looks?.value.looks ?? {},
        unfinished: work && { job: work.value.request.job, since: work.value.since, options: work.value.request },
        undo,
        redo,
        faults,
      }
    },
    forget: (id: string) => groups.delete(id),
  }
}

export type OutingStates = ReturnType<typeof createOutingStates>

/** Small pictures by the frames' names below the outing; only such as lie in the outing's own folder for them. */
function smallPicturesOf(folder: string, check: CheckDocument | null): ReadonlyMap<string, string> {
  const below = (path: string) => relative(folder, resolve(path)).split(sep).join('/')
  return new Map(
    (check?.frames ?? []).flatMap(({ file, thumbnail }) => {
      if (thumbnail === null || !/^contact\/[^/]+\.jpg$/.test(below(thumbnail))) return []
      return [[below(file), join(folder, below(thumbnail))] as const]
    }),
  )
}

/** Frames by their names below the outing, as every other document has them. */
function withNamesBelow(document: GroupDocument, folder: string): GroupDocument {
  const below = (file: string) => {
    const name = relative(folder, file)
    return name.startsWith('..') ? file : name.split(sep).join('/')
  }
  const frame = (f: GroupDocument['singles'][number]) => ({
    ...f,
    file: below(f.file),
    companion: f.companion === null ? null : below(f.companion),
  })
  return {
    ...document,
    brackets: document.brackets.map((b) => ({ ...b, reference: below(b.reference), frames: b.frames.map(frame) })),
    singles: document.singles.map(frame),
    doubts: document.doubts.map((d) => ({ ...d, frames: d.frames.map(below) })),
    corrections: {
      ...document.corrections,
      groups: document.corrections.groups.map((g) => ({ ...g, frames: g.frames.map(below) })),
    },
    leftOut: document.leftOut.map((l) => ({ ...l, what: below(l.what) })),
  }
}

async function mergedOf(
  files: Host['files'],
  folder: string,
  grouping: GroupDocument | null,
  faults: SaidFailure[],
): Promise<MergedState[]> {
  const merged: MergedState[] = []
  for (const id of await namesIn(join(folder, 'brackets'))) {
    const own = join(folder, 'brackets', id)
    const stamp = await stampOf(join(own, 'radiance.exr'))
    if (stamp === null) continue
    const found = await documentOf(files, own, 'record.json', radianceRecordSchema, faults)
    if (!found) continue
    const record = found.value
    const bracket = grouping?.brackets.find((b) => b.id === id)
    const wanted = bracket?.frames.map((f) => basename(f.file)).sort()
    const used = [...new Set(record.frames.map((f) => basename(f.file)))].sort()
    merged.push({
      id,
      record,
      stamp: `${stamp}-${found.tag.slice(0, 8)}`,
      stale: grouping !== null && wanted?.join('\n') !== used.join('\n'),
      previewStamp: await stampOf(join(own, 'preview.jpg')),
      hasSources: (await stampOf(join(own, 'sources.png'))) !== null,
    })
  }
  return merged
}

/** Prints whose records this version knows; what an earlier one wrote stays on disk and is not listed. */
async function printsOf(files: Host['files'], folder: string): Promise<PrintState[]> {
  const prints: PrintState[] = []
  for (const name of await namesIn(join(folder, 'prints'))) {
    if (!name.endsWith('.record.json')) continue
    const file = name.slice(0, -'.record.json'.length)
    const found = await stat(join(folder, 'prints', file)).catch(() => null)
    const record = found && (await documentOf(files, join(folder, 'prints'), name, printRecordSchema, []))
    if (!found || !record) continue
    prints.push({ file, bytes: found.size, stamp: `${found.size}-${Math.round(found.mtimeMs)}`, record: record.value })
  }
  return prints
}
