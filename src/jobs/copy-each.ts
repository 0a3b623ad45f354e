import { Failure } from '#core/base'
import type { Host } from './contract/index.ts'
import { copyFile, type Fared, note, type Readers } from './copy-file.ts'
import type { CardFile } from './copy-plan.ts'
import { headOf, type Target } from './copy-target.ts'

/** Records are brought up to date this often, so that a killed run leaves little unrecorded. */
const RECORD_SECONDS = 10

const STAGE = 'Megabytes copied'
const megabytes = (bytes: number) => Math.round(bytes / 1e6)

export interface CopyRun {
  readonly card: string
  readonly targets: readonly Target[]
  readonly files: readonly CardFile[]
  readonly names: ReadonlyMap<string, string>
  readonly readers: Readers
  /** Called once for every file. */
  took(file: CardFile, fared: Fared): void
  record(): Promise<unknown>
}

/** So many files may be under way behind the one that is read: one goes to the disk while one is read back. */
const MOST_PROVING = 2

/** The copies of a file on their way to the disk and back; a failure is told where it is waited for. */
interface Proving {
  readonly file: CardFile
  readonly end: Promise<Fared | { readonly error: unknown }>
}

/**
 * File after file; while one is read from the card, the copies of those before go to the disk and are read back.
 * @throws Failure aborted
 */
export async function copyEach(host: Host, run: CopyRun): Promise<void> {
  const total = run.files.reduce((sum, f) => sum + f.bytes, 0)
  const wholes = Math.max(1, megabytes(total))
  let done = 0
  let recordedAt = host.seconds()
  const proving: Proving[] = []
  const prove = async (most: number) => {
    while (proving.length > most) {
      const { file, end } = proving[0]!
      const fared = await end
      proving.shift()
      if ('error' in fared) throw fared.error
      run.took(file, fared)
    }
  }
  const copyOne = async (file: CardFile) => {
    host.throwIfStopped()
    // The same picture under another name is recognised only once the first copy has its own.
    for (const before of [...proving]) if (await mayBeSame(host, file, before.file)) await prove(0)
    const from = done
    const secondHalf = await copyFile(host, run.readers, run.targets, file, run.names.get(file.file)!, {
      onBytes(bytes) {
        done = Math.min(done + bytes, from + file.bytes)
        host.progress({ stage: STAGE, done: megabytes(done), total: wholes })
      },
    })
    done = from + file.bytes
    proving.push({ file, end: secondHalf().catch((error: unknown) => ({ error })) })
    await prove(MOST_PROVING)
    return secondHalf.cardFailed
  }
  try {
    let isGone = false
    for (const file of run.files) {
      if (isGone) run.took(file, gone(run, file))
      else if (await copyOne(file)) isGone = await isCardGone(host, run.card)
      if (host.seconds() - recordedAt <= RECORD_SECONDS) continue
      await run.record()
      recordedAt = host.seconds()
    }
    await prove(0)
  } finally {
    // Nothing may go on behind a run that ends.
    for (const { end } of proving) await end
  }
  host.progress({ stage: STAGE, done: wholes, total: wholes })
}

/** Whether the file before this one, whose copy has no name yet, may be the same picture. */
async function mayBeSame(host: Host, file: CardFile, before: CardFile): Promise<boolean> {
  return file.bytes === before.bytes && (await headOf(host, file)) === (await headOf(host, before))
}

/** A pulled card leaves a folder that cannot be listed, or the empty one that it was mounted on. */
async function isCardGone(host: Host, card: string): Promise<boolean> {
  try {
    return (await host.files.disk.names(card)).length === 0
  } catch (error) {
    if (error instanceof Failure && error.kind === 'io') return true
    throw error
  }
}

function gone({ card, targets }: CopyRun, file: CardFile): Fared {
  const failure = new Failure('io', 'card-gone', { path: file.path, card })
  for (const target of targets) note(target, file, { outcome: 'failed', reason: failure.code })
  return [{ target: null, failure }]
}
