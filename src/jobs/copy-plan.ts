import { Failure } from '#core/base'
import { copyNames, nameParts, sameName } from '#picture/card'
import type { Host } from './contract/index.ts'
import { headSum, type Reader, readBack, readCardFile } from './copy-stream.ts'
import { type HeldFile, headOf, recordedSum, sumOf, type Target } from './copy-target.ts'
import type { FoundFile } from './copy-walk.ts'

/** Stills and clips: files that are the same picture when they are the same bytes, whatever they are called. */
const PICTURES = new Set(
  'dng jpg jpeg tif tiff heic heif avif png webp mp4 mov m4v avi mts m2ts mkv mpg mpeg'.split(' '),
)

export const isPicture = (file: string) => PICTURES.has(nameParts(file).extension.toLowerCase())

/** A file of the card. */
export interface CardFile extends FoundFile {
  head?: string | null
}

/** What stands in a target under the very name; undefined when it is free. */
export const namesake = (target: Target, name: string): HeldFile | undefined => target.held.get(sameName(name))

/**
 * Files of a target that may well be this one: of its size and its beginning. Pictures are looked for under every name;
 * others (sidecars, logs: two may well read the same and still belong to two pictures) under their own only.
 */
export async function candidates(host: Host, target: Target, file: CardFile, name: string): Promise<HeldFile[]> {
  const own = namesake(target, name)
  const found: HeldFile[] = []
  const elsewhere = isPicture(file.file) && file.bytes > 0 ? (target.bySize.get(file.bytes) ?? []) : []
  for (const held of own ? [own, ...elsewhere.filter((h) => h !== own)] : elsewhere)
    if (held.bytes === file.bytes && (await sameHead(host, file, held))) found.push(held)
  return found
}

async function sameHead(host: Host, file: CardFile, held: HeldFile): Promise<boolean> {
  const head = await headOf(host, file)
  return head !== null && head === (await headOf(host, held))
}

/**
 * Whether a file in the way is a copy of this very file that was cut off (it is the file's beginning), or one that has
 * changed since it was copied (its sum is not the recorded one, and the card's is). Null: it is something else.
 * @param cardSum the card file's sum where it is known already
 */
export async function spoiltCopy(
  host: Host,
  reader: Reader,
  target: Target,
  file: FoundFile,
  held: HeldFile,
  cardSum?: string,
): Promise<'copy-cut-off' | 'copy-changed' | null> {
  // Another picture differs at its start and in its length: it need not be read to its end.
  if (held.bytes !== file.bytes && !(await startAlike(host, file, held))) return null
  const sum = await sumOf(host, reader, target, held)
  if (sum === null) return null
  if (held.bytes < file.bytes && (await readBack(host, reader, file.path, held.bytes)).sha256 === sum)
    return 'copy-cut-off'
  const recorded = recordedSum(target, held.file)
  if (recorded === undefined || recorded === sum) return null
  const wanted = cardSum ?? (await readCardFile(host, reader, file, () => Promise.resolve(true)))
  return wanted === recorded ? 'copy-changed' : null
}

/** Whether the shorter of the two begins as the longer does. */
async function startAlike(host: Host, file: FoundFile, held: HeldFile): Promise<boolean> {
  const bytes = Math.min(file.bytes, held.bytes)
  const start = await headSum(host, file.path, bytes)
  return start !== null && start === (await headSum(host, held.path, bytes))
}

/** The name of each file's copy, the same in every target. */
export function planNames(
  host: Host,
  reader: Reader,
  targets: readonly Target[],
  files: readonly CardFile[],
): Promise<Map<string, string>> {
  const byName = new Map(files.map((f) => [f.file, f]))
  return copyNames([...byName.keys()], async (name, path) => {
    host.throwIfStopped()
    const file = byName.get(path)!
    for (const target of targets) {
      const held = namesake(target, name)
      if (!held || (held.bytes === file.bytes && (await sameHead(host, file, held)))) continue
      if ((await spoiltOrNull(host, reader, target, file, held)) === null) return true
    }
    return false
  })
}

/** A file that cannot be read now fails when it is copied. */
async function spoiltOrNull(host: Host, reader: Reader, target: Target, file: FoundFile, held: HeldFile) {
  try {
    return await spoiltCopy(host, reader, target, file, held)
  } catch (error) {
    if (error instanceof Failure && error.kind === 'io') return null
    throw error
  }
}

/** Room for the records and for what a disk keeps about files. */
const RESERVE_BYTES = 4 * 1024 * 1024

/**
 * Passes when every disk has room for what the targets on it seem to lack.
 * @throws Failure io "too-little-space" with the needed and the free bytes
 */
export async function requireSpace(
  host: Host,
  targets: readonly Target[],
  files: readonly CardFile[],
  names: ReadonlyMap<string, string>,
): Promise<void> {
  const { disk } = host.files
  const lacking: { target: Target; bytes: number }[] = []
  for (const target of targets) {
    let bytes = 0
    for (const file of files)
      if ((await candidates(host, target, file, names.get(file.file)!)).length === 0) bytes += file.bytes
    lacking.push({ target, bytes })
    if (bytes === 0) continue
    let neededBytes = RESERVE_BYTES
    for (const other of lacking)
      if (other.target === target || (await disk.sameDisk(other.target.originals, target.originals)))
        neededBytes += other.bytes
    const freeBytes = await disk.freeBytes(target.originals)
    if (freeBytes !== null && freeBytes < neededBytes)
      throw new Failure('io', 'too-little-space', { path: target.folder, neededBytes, freeBytes })
  }
}
