import { Failure, type LeftOut } from '#core/base'
import { utf8Text } from '#core/formats'
import { type ChecksumLine, checksumLines, checksumText, numberedName, sameName } from '#picture/card'
import type { Claim, CopyManifest, Host } from './contract/index.ts'
import { headSum, type Reader, readBack } from './copy-stream.ts'
import { type FoundFile, walk } from './copy-walk.ts'
import { mayReplace } from './documents.ts'

export const ORIGINALS = 'originals'

/** A file that stands in a target. */
export interface HeldFile extends FoundFile {
  /** Of its first bytes; undefined until it is asked for. */
  head?: string | null
  /** Of the whole file as read from the disk in this run; undefined until it is asked for. */
  sha256?: string
}

/** An outing that is being copied into. */
export interface Target {
  readonly folder: string
  readonly originals: string
  readonly checksums: string
  readonly manifest: string
  /** What stands in originals, by `sameName` of the path below it. */
  readonly held: Map<string, HeldFile>
  readonly bySize: Map<number, HeldFile[]>
  /** Sums of earlier runs, by path below the outing. */
  readonly recorded: Map<string, string>
  /** How each file of the card fared here. */
  readonly outcomes: Map<string, CopyManifest['files'][number]>
  readonly leftOut: LeftOut[]
  readBack: 'disk' | 'system'
  /** A write here met a full disk. */
  wasFull: boolean
  readonly claim: Claim
  /** Unfinished files lie beside originals and not inside it. */
  readonly claimsOuting: boolean
  /** The outing was there before this run. */
  readonly wasThere: boolean
}

/**
 * Makes the outing where it is missing, claims it, and sees what it holds already.
 * @throws Failure io; unsupported "newer-document"
 */
export async function openTarget(host: Host, folder: string): Promise<Target> {
  const { files } = host
  const originals = files.join(folder, ORIGINALS)
  const manifest = files.join(folder, 'copy.json')
  const checksums = files.join(folder, 'checksums.sha256')
  await mayReplace(files, manifest, 'copy-manifest/1')
  const wasThere = await files.exists(folder)
  await files.makeDirectory(originals)
  // Unfinished files lie beside originals; inside it only where that is a link to another disk, which no rename reaches.
  const claimsOuting = await files.disk.sameDisk(folder, originals)
  const claim = await files.disk.claim(claimsOuting ? folder : originals)
  const target: Target = {
    ...{ folder, originals, checksums, manifest, claim, claimsOuting, wasThere },
    held: new Map(),
    bySize: new Map(),
    recorded: new Map(),
    outcomes: new Map(),
    leftOut: [],
    readBack: 'disk',
    wasFull: false,
  }
  try {
    const sums = (await files.exists(checksums)) ? (utf8Text(await files.read(checksums)) ?? '') : ''
    for (const { path, sha256 } of checksumLines(sums)) target.recorded.set(path, sha256)
    // What cannot be looked at there is in the way of a name at most, and then says so itself.
    for (const file of (await walk(host, originals)).files) hold(target, file)
    return target
  } catch (error) {
    await closeTarget(host, target)
    throw error
  }
}

/** Gives the claim back; an outing that was made for nothing goes again. */
export async function closeTarget(host: Host, target: Target): Promise<void> {
  await target.claim.release()
  if (target.wasThere || (await host.files.exists(target.manifest))) return
  if (await host.files.disk.removeEmpty(target.originals)) await host.files.disk.removeEmpty(target.folder)
}

export function hold(target: Target, file: HeldFile): void {
  target.held.set(sameName(file.file), file)
  const equals = target.bySize.get(file.bytes)
  if (equals) equals.push(file)
  else target.bySize.set(file.bytes, [file])
}

function letGo(target: Target, file: HeldFile): void {
  target.held.delete(sameName(file.file))
  const equals = target.bySize.get(file.bytes)
  equals?.splice(equals.indexOf(file), 1)
}

export const headOf = async (host: Host, file: HeldFile): Promise<string | null> => {
  if (file.head === undefined) file.head = await headSum(host, file.path)
  return file.head
}

/** The sum of a held file as it is on the disk now; null when it cannot be read. */
export async function sumOf(host: Host, reader: Reader, target: Target, file: HeldFile): Promise<string | null> {
  if (file.sha256 !== undefined) return file.sha256
  try {
    const found = await readBack(host, reader, file.path)
    if (!found.aroundMemory) target.readBack = 'system'
    file.sha256 = found.sha256
    return found.sha256
  } catch (error) {
    if (error instanceof Failure && error.kind === 'io') return null
    throw error
  }
}

export const recordedSum = (target: Target, name: string): string | undefined =>
  target.recorded.get(`${ORIGINALS}/${name}`)

/** Makes the folders of a name in originals, each durable. */
async function makeFolders(host: Host, target: Target, name: string): Promise<void> {
  const parts = name.split('/').slice(0, -1)
  let folder = target.originals
  for (const part of parts) {
    const above = folder
    folder = host.files.join(folder, part)
    if (await host.files.isDirectory(folder)) continue
    await host.files.makeDirectory(folder)
    await host.files.disk.syncFolder(above)
  }
}

/** Where a finished copy finds its place: under its name or, should that have been taken since, the next number. */
export async function place(host: Host, target: Target, unfinished: string, name: string): Promise<string> {
  await makeFolders(host, target, name)
  for (let number = 1; ; number++) {
    const free = numberedName(name, number)
    const path = host.files.join(target.originals, ...free.split('/'))
    if ((await host.files.disk.look(path)) !== null) continue
    await host.files.disk.move(unfinished, path)
    return free
  }
}

/**
 * A copy that is not any more, or never was, what was copied makes room for a new one. It is moved out of originals and
 * kept: somebody may have meant the change.
 */
export async function setAside(host: Host, target: Target, file: HeldFile, reason: string): Promise<void> {
  const { files } = host
  for (let number = 1; ; number++) {
    const path = files.join(target.folder, 'set-aside', ...numberedName(file.file, number).split('/'))
    if ((await files.disk.look(path)) !== null) continue
    await files.makeDirectory(files.directoryName(path))
    await files.disk.move(file.path, path)
    letGo(target, file)
    target.leftOut.push({ what: file.path, reason, facts: { setAside: path } })
    return
  }
}

/** Sums by path below the outing: of this run, and of earlier ones where this run has nothing to say. */
function sumsOf(target: Target): { all: ChecksumLine[]; earlier: ChecksumLine[] } {
  const now = new Map<string, string>()
  for (const { copy, sha256 } of target.outcomes.values()) if (copy && sha256) now.set(copy, sha256)
  const line = ([path, sha256]: readonly [string, string]): ChecksumLine => ({ path, sha256 })
  const earlier = [...target.recorded].filter(([path]) => !now.has(path)).map(line)
  return { all: [...[...now].map(line), ...earlier], earlier }
}

/** Writes the sums, and the account of this run. */
export async function writeRecords(
  host: Host,
  target: Target,
  run: { readonly card: string; readonly safeToWipe: boolean; readonly skipped: readonly LeftOut[] },
): Promise<void> {
  const { all, earlier } = sumsOf(target)
  const manifest: CopyManifest = {
    schema: 'copy-manifest/1',
    version: host.version,
    card: run.card,
    safeToWipe: run.safeToWipe,
    files: [...target.outcomes.values()].sort((a, b) => (a.file < b.file ? -1 : 1)),
    earlier: earlier.map(({ path, sha256 }) => ({ copy: path, sha256 })),
    skipped: [...run.skipped, ...target.leftOut].map((l) => ({ ...l, facts: { ...l.facts } })),
  }
  await writeRecord(host, target, target.checksums, checksumText(all))
  await writeRecord(host, target, target.manifest, `${JSON.stringify(manifest, null, 2)}\n`)
}

/** By way of the claimed folder, so that a kill leaves nothing outside it. */
async function writeRecord(host: Host, target: Target, path: string, text: string): Promise<void> {
  if (!target.claimsOuting) return host.files.write(path, text)
  const unfinished = target.claim.unfinished()
  const file = await host.files.disk.create(unfinished)
  try {
    await file.append(text)
    await file.finish(null)
    await host.files.disk.move(unfinished, path)
  } catch (error) {
    await file.discard()
    throw error
  }
}
