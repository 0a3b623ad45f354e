import { Failure, type LeftOut } from '#core/base'
import { type CopyDocument, type Host, sentenceFor } from './contract/index.ts'
import { copyEach } from './copy-each.ts'
import { createReaders, type Fared } from './copy-file.ts'
import { type CardFile, isPicture, planNames, requireSpace } from './copy-plan.ts'
import { closeTarget, ORIGINALS, openTarget, type Target, writeRecords } from './copy-target.ts'
import { type Walked, walk } from './copy-walk.ts'

export interface CopyOptions {
  /** Further outings to copy into in the same pass. */
  readonly also?: readonly string[]
}

type Failed = CopyDocument['failed'][number]

/**
 * Copies every file of a card into originals/ of an outing, and of further ones, in one pass: each file is read once,
 * summed (SHA-256) while it is written, synced, read back from the disk, compared, and only then given its name. What is
 * there already is recognised by its content. The card is only ever read. A file that fails is named and does not stop the
 * others. See docs/science/card.md for what this proves.
 * @throws Failure io (card or targets as a whole; "too-little-space", "copy-running"), usage "copy-into-itself",
 *   malformed "empty-card", unsupported "newer-document", limit "too-many-files"
 */
export async function copy(host: Host, card: string, outing: string, options: CopyOptions = {}): Promise<CopyDocument> {
  const start = host.seconds()
  const folders = [outing, ...(options.also ?? [])]
  await requireApart(host, card, folders)
  const walked = await walk(host, card)
  if (walked.files.length === 0 && walked.failed.length === 0)
    throw new Failure('malformed', 'empty-card', { path: card })

  const targets: Target[] = []
  try {
    for (const folder of folders) targets.push(await openTarget(host, folder))
    return await copyAll(host, card, walked, targets, start)
  } finally {
    for (const target of targets) await closeTarget(host, target)
  }
}

/** @throws Failure io "not-found", "not-a-folder"; usage "copy-into-itself" */
async function requireApart(host: Host, card: string, folders: readonly string[]): Promise<void> {
  const { files } = host
  if (!(await files.exists(card))) throw new Failure('io', 'not-found', { path: card })
  if (!(await files.isDirectory(card))) throw new Failure('io', 'not-a-folder', { path: card })
  const places = [card, ...folders]
  for (const [i, a] of places.entries())
    for (const b of places.slice(i + 1))
      for (const [outer, inner] of [
        [a, b],
        [b, a],
        // An outing may be a stranger to the card and its originals a link onto it.
        [a, files.join(b, 'originals')],
      ] as const)
        if (await files.disk.holds(outer, inner)) throw new Failure('usage', 'copy-into-itself', { path: inner, outer })
}

async function copyAll(
  host: Host,
  card: string,
  { files, failed: unread, leftOut: skipped }: Walked,
  targets: readonly Target[],
  start: number,
): Promise<CopyDocument> {
  const readers = createReaders(host)
  const names = await planNames(host, readers.card, targets, files)
  await requireSpace(host, targets, files, names)

  const failed: Failed[] = unread.map(({ file, failure }) => failedEntry(file, null, failure))
  const failedFiles = new Set<string>()
  const run = { card, skipped }
  const unfinishedRecord = () => writeAll(host, targets, { ...run, safeToWipe: false })
  const took = (file: CardFile, failures: Fared) => {
    for (const { target, failure } of failures) failed.push(failedEntry(file.file, target, failure))
    if (failures.length > 0) failedFiles.add(file.file)
  }
  try {
    await copyEach(host, { card, targets, files, names, readers, took, record: unfinishedRecord })
  } catch (error) {
    // Stopped, or a fault of ours: what is copied is recorded all the same.
    await unfinishedRecord()
    throw error
  }

  const known = new Set(failed.map((f) => f.file))
  for (const { file, failure } of await changedSince(host, card, files)) {
    // Of a card that was pulled, or a file that failed, that has been said already.
    if (known.has(file) || (file === card && failed.length > 0)) continue
    failed.push(failedEntry(file, null, failure))
    failedFiles.add(file)
  }
  const empty = files.filter((f) => f.bytes === 0 && isPicture(f.file) && !failedFiles.has(f.file))
  const allThere = failed.length === 0 && empty.length === 0
  const unrecorded = await writeAll(host, targets, { ...run, safeToWipe: allThere })
  for (const { target, failure } of unrecorded)
    failed.push(failedEntry(host.files.baseName(target.checksums), target, failure))
  // What one target says must not hold for a run that failed on another.
  if (unrecorded.length > 0) await unfinishedRecord()

  const whole = files.filter((f) => !failedFiles.has(f.file))
  const outcomes = targets.flatMap((t) => [...t.outcomes.values()])
  const written = new Set(outcomes.filter((o) => o.outcome === 'copied').map((o) => o.file))
  const copied = whole.filter((f) => written.has(f.file)).length
  const bytesOf = (some: readonly CardFile[]) => some.reduce((sum, f) => sum + f.bytes, 0)
  return {
    schema: 'copy/1',
    card,
    files: files.length,
    copied,
    recognised: whole.length - copied,
    failed: failed.sort((a, b) => (a.file < b.file ? -1 : a.file > b.file ? 1 : 0)),
    bytes: bytesOf(whole),
    bytesCopied: bytesOf(files.filter((f) => written.has(f.file))),
    seconds: host.seconds() - start,
    safeToWipe: allThere && failed.length === 0,
    targets: await Promise.all(targets.map((target) => targetEntry(host, card, target))),
    leftOut: [
      ...empty.map((f): LeftOut => ({ what: f.file, reason: 'empty-on-card', facts: {} })),
      ...skipped,
      ...targets.flatMap((t) => t.leftOut),
    ].map((l) => ({ ...l, facts: { ...l.facts } })),
  }
}

/** Files that came to the card or changed on it since the walk: nobody has looked at them as they are now. */
async function changedSince(host: Host, card: string, files: readonly CardFile[]): Promise<Walked['failed']> {
  const before = new Map(files.map((f) => [f.file, f]))
  try {
    const now = await walk(host, card)
    const changed = now.files.filter((f) => {
      const then = before.get(f.file)
      return then?.bytes !== f.bytes || then.modifiedMilliseconds !== f.modifiedMilliseconds
    })
    return changed.map((f) => ({ file: f.file, failure: new Failure('io', 'changed-on-card', { path: f.path }) }))
  } catch (error) {
    if (!(error instanceof Failure) || error.kind === 'aborted') throw error
    return [{ file: card, failure: error }]
  }
}

async function targetEntry(host: Host, card: string, target: Target): Promise<CopyDocument['targets'][number]> {
  const outcomes = [...target.outcomes.values()]
  return {
    path: target.originals,
    verified: outcomes.filter((o) => o.outcome !== 'failed').length,
    renamed: outcomes
      .filter((o) => o.outcome === 'copied' && o.copy !== `${ORIGINALS}/${o.file}`)
      .map(({ file, copy }) => ({ file, copy: copy! })),
    readBack: target.readBack,
    onCardsDisk: await host.files.disk.sameDisk(card, target.originals).catch(() => false),
    checksums: target.checksums,
    manifest: target.manifest,
  }
}

function failedEntry(file: string, target: Target | null, failure: Failure): Failed {
  const data = failure.with({ path: file, ...(target ? { target: target.folder } : {}) }).toJSON()
  return {
    file,
    reason: failure.code,
    target: target?.originals ?? null,
    sentence: sentenceFor(data),
    facts: { kind: failure.kind, ...failure.facts },
  }
}

/** The records of every target; those that could not be written. */
async function writeAll(host: Host, targets: readonly Target[], run: Parameters<typeof writeRecords>[2]) {
  const failures: { target: Target; failure: Failure }[] = []
  for (const target of targets) {
    try {
      await writeRecords(host, target, run)
    } catch (error) {
      if (!(error instanceof Failure)) throw error
      failures.push({ target, failure: error })
    }
  }
  return failures
}
