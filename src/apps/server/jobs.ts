import { join } from 'node:path'
import { Failure } from '#core/base'
import { check, copy, demo, group, importRecon, merge, plan, print } from '#jobs'
import type {
  CheckDocument,
  GroupDocument,
  Host,
  JobRequest,
  JobState,
  LooksDocument,
  MergedState,
  PrintDocument,
  WorkDocument,
} from '#jobs/contract'
import { looksSchema } from '#jobs/schemas'
import { documentOf } from './documents.ts'
import type { OpenedOuting } from './outings.ts'
import type { Work } from './runner.ts'

/** Where recon photographs that were dropped onto the page lie in the outing. */
export const RECON_FOLDER = 'recon'
/** Jobs long enough to be worth going on with after a kill; a demonstration is only written where nothing else is. */
const JOURNALLED = new Set<JobRequest['job']>(['card', 'merge', 'print', 'check'])

const json = (value: unknown) => `${JSON.stringify(value, null, 2)}\n`

export interface JobSources {
  readonly files: Host['files']
  grouping(outing: OpenedOuting): Promise<GroupDocument | null>
  merged(outing: OpenedOuting): Promise<readonly MergedState[]>
  changed(outing: OpenedOuting): void
}

/** A job that the page asked for, as work for the runner: the same use-cases that the command line calls. */
export function workOf(outing: OpenedOuting, request: JobRequest, sources: JobSources): Work {
  const journal = join(outing.folder, 'work.json')
  const { files } = sources
  return {
    job: request.job,
    outing: outing.id,
    async run(host) {
      if (JOURNALLED.has(request.job)) {
        const document: WorkDocument = { schema: 'work/1', since: new Date().toISOString(), request }
        if (await files.exists(outing.folder)) await files.write(journal, json(document))
      }
      return run(host, outing, request, sources)
    },
    async ended(state: JobState) {
      // Stopped or killed work is offered again; what failed has said why, and what is done is done.
      if (state.state !== 'stopped' && (await files.exists(journal))) await files.remove(journal)
      sources.changed(outing)
    },
  }
}

async function run(host: Host, outing: OpenedOuting, request: JobRequest, sources: JobSources): Promise<unknown> {
  const { folder } = outing
  switch (request.job) {
    case 'demo': {
      const { document, checked } = await demo(host, folder, { scale: request.scale })
      await planWithPages(host, folder)
      const { renderContactReport, renderDemoReport } = await import('#apps/report')
      if (document.contact !== null) await host.files.write(document.contact, renderContactReport(checked))
      await host.files.write(document.report, renderDemoReport(document))
      return document
    }
    case 'card': {
      const copied = await copy(host, request.card, folder)
      sources.changed(outing)
      // The copy stands on its own: frames that cannot be measured take nothing from it.
      await checkWithReport(host, folder).catch((error: unknown) => {
        if (!(error instanceof Failure) || error.kind === 'aborted') throw error
      })
      return copied
    }
    case 'plan':
      return planWithPages(host, folder)
    case 'recon': {
      const result = await importRecon(host, folder, join(folder, RECON_FOLDER))
      await planWithPages(host, folder).catch((error: unknown) => {
        if (!(error instanceof Failure)) throw error
      })
      return result
    }
    case 'group':
      return (await group(host, folder)).document
    case 'check':
      return checkWithReport(host, folder)
    case 'merge': {
      const brackets = request.brackets ?? (await toMerge(outing, sources))
      return merge(host, [folder], brackets.length > 0 ? { brackets } : {})
    }
    case 'print':
      return printAll(host, folder, request)
  }
}

/** Measures and judges, with the report that the command line writes too. */
async function checkWithReport(host: Host, folder: string): Promise<CheckDocument> {
  const document = await check(host, folder)
  if (document.report !== null) {
    const { renderContactReport } = await import('#apps/report')
    await host.files.write(document.report, renderContactReport(document))
  }
  return document
}

/** Plans the evening and draws its pages, as the command line does. */
export async function planWithPages(host: Host, folder: string): Promise<unknown> {
  const document = await plan(host, folder)
  const { writeEveningPages } = await import('#apps/report')
  await writeEveningPages(host, folder, document)
  return document
}

/** Brackets without a radiance image, or whose frames were regrouped since: what going on with a merge means. */
async function toMerge(outing: OpenedOuting, sources: JobSources): Promise<string[]> {
  const grouping = await sources.grouping(outing)
  const merged = await sources.merged(outing)
  const good = new Set(merged.filter((m) => !m.stale).map((m) => m.id))
  const open = (grouping?.brackets ?? []).map((b) => b.id).filter((id) => !good.has(id))
  return open.length > 0 ? open : (grouping?.brackets ?? []).map((b) => b.id)
}

async function printAll(
  host: Host,
  folder: string,
  request: Extract<JobRequest, { job: 'print' }>,
): Promise<PrintDocument> {
  const found = await documentOf(host.files, folder, 'looks.json', looksSchema, [])
  const looks: LooksDocument['looks'] = found?.value.looks ?? {}
  const prints: PrintDocument['prints'] = []
  const leftOut: PrintDocument['leftOut'] = []
  const { artist, copyright } = request
  for (const id of request.brackets) {
    host.throwIfStopped()
    const look = looks[id]
    const replace = await onlyPrints(host, folder, id)
    const document = await print(host, folder, {
      file: { formats: request.formats },
      artist,
      copyright,
      brackets: [id],
      replace,
      ...(look ? { look } : {}),
    })
    prints.push(...document.prints)
    leftOut.push(...document.leftOut)
  }
  return { schema: 'print/1', prints, leftOut }
}

/** Whether all files of a print's name are prints of ours, with their record: only such are written over. */
async function onlyPrints({ files }: Host, folder: string, id: string): Promise<boolean> {
  const prints = join(folder, 'prints')
  if (!(await files.isDirectory(prints))) return true
  const names = (await files.list(prints)).map((e) => e.name)
  return names
    .filter((name) => name.startsWith(`${id}.`) && !name.endsWith('.record.json'))
    .every((name) => names.includes(`${name}.record.json`))
}
