import { Failure } from '#core/base'
import type { CopyFile, Host } from './contract/index.ts'
import { type CardFile, candidates, namesake, spoiltCopy } from './copy-plan.ts'
import { createReader, type Reader, readBack, readCardFile } from './copy-stream.ts'
import { hold, ORIGINALS, place, setAside, sumOf, type Target } from './copy-target.ts'

/** A copy that is written, and neither synced nor read back yet. */
interface Unproven {
  readonly target: Target
  readonly unfinished: string
  readonly copy: CopyFile
}

/** How a file fared: what failed, one a target or, with null, the card's file itself; nothing when it is everywhere. */
export type Fared = readonly { readonly target: Target | null; readonly failure: Failure }[]

/** One reader for the card and one for the copies, so that both may run at once. */
export interface Readers {
  readonly card: Reader
  readonly back: Reader
}

export const createReaders = (host: Host): Readers => ({ card: createReader(host), back: createReader(host) })

/** Syncs the copies of a file, reads them back and names them. */
export interface SecondHalf {
  (): Promise<Fared>
  /** The file itself could not be read. */
  readonly cardFailed: boolean
}

export interface CopyStep {
  /** Called with the bytes read from the card. */
  onBytes(bytes: number): void
}

/**
 * The first half of copying a file: it is looked for in every target, and read from the card once while it is written
 * wherever it is missing. What is returned is the second half, which waits until the disk has the copies, reads them back
 * and gives them their names; it may run while the first halves of the next files do.
 */
export async function copyFile(
  host: Host,
  readers: Readers,
  targets: readonly Target[],
  file: CardFile,
  name: string,
  step: CopyStep,
): Promise<SecondHalf> {
  const failures: { target: Target | null; failure: Failure }[] = []
  const failed = (target: Target | null, error: unknown) => {
    if (!(error instanceof Failure) || error.kind === 'aborted') throw error
    failures.push({ target, failure: error })
    if (target && error.code === 'no-space') target.wasFull = true
    for (const t of target ? [target] : targets) note(t, file, { outcome: 'failed', reason: error.code })
  }

  const unproven: Unproven[] = []
  let sha256: string
  try {
    const hopes = new Map<Target, Awaited<ReturnType<typeof candidates>>>()
    for (const target of targets) hopes.set(target, await candidates(host, target, file, name))
    const hopeless = targets.filter((t) => hopes.get(t)!.length === 0)
    sha256 = await stream(hopeless)
    const disappointed: Target[] = []
    for (const target of targets) {
      if (hopeless.includes(target)) continue
      let found: string | null = null
      for (const held of hopes.get(target)!)
        if (found === null && (await sumOf(host, readers.back, target, held)) === sha256) found = held.file
      if (found === null) disappointed.push(target)
      else note(target, file, { outcome: 'recognised', copy: `${ORIGINALS}/${found}`, sha256 })
    }
    if (disappointed.length > 0 && (await stream(disappointed)) !== sha256)
      throw new Failure('io', 'reads-differ', { path: file.path })
  } catch (error) {
    for (const { copy } of unproven) await copy.discard()
    failed(null, error)
    return Object.assign(() => Promise.resolve(failures), { cardFailed: true })
  }

  return Object.assign(finish, { cardFailed: false })

  async function finish(): Promise<Fared> {
    try {
      for (const one of unproven) {
        try {
          await proveAndPlace(one)
        } catch (error) {
          failed(one.target, error)
        }
      }
    } finally {
      // Of those that have their place, nothing is left to discard.
      for (const { copy } of unproven) await copy.discard()
    }
    return failures
  }

  async function proveAndPlace({ target, unfinished, copy }: Unproven): Promise<void> {
    await copy.finish(file.modifiedMilliseconds)
    const back = await readBack(host, readers.back, unfinished)
    if (!back.aroundMemory) target.readBack = 'system'
    if (back.sha256 !== sha256 || back.bytes !== file.bytes)
      throw new Failure('io', 'copy-differs', { path: file.path, target: target.folder })
    const inTheWay = namesake(target, name)
    const spoilt = inTheWay && (await spoiltCopy(host, readers.back, target, file, inTheWay, sha256))
    if (inTheWay && spoilt) await setAside(host, target, inTheWay, spoilt)
    const placed = await place(host, target, unfinished, name)
    const path = host.files.join(target.originals, ...placed.split('/'))
    hold(target, { ...file, file: placed, path, sha256 })
    note(target, file, { outcome: 'copied', copy: `${ORIGINALS}/${placed}`, sha256 })
  }

  /** Reads the file from the card and writes it to these targets; one that fails drops out and the others go on. */
  async function stream(to: readonly Target[]): Promise<string> {
    const writing: Unproven[] = []
    const dropOut = async (one: Unproven, error: unknown) => {
      writing.splice(writing.indexOf(one), 1)
      await one.copy.discard()
      failed(one.target, error)
    }
    try {
      for (const target of to) {
        try {
          await refuseWhenFull(host, target, file)
          const unfinished = target.claim.unfinished()
          writing.push({ target, unfinished, copy: await host.files.disk.create(unfinished) })
        } catch (error) {
          failed(target, error)
        }
      }
      const sum = await readCardFile(host, readers.card, file, async (part) => {
        step.onBytes(part.length)
        const done = await Promise.all(
          [...writing].map(async (one) => {
            const error = await one.copy.append(part).then(
              () => null,
              (e: unknown) => e ?? new Error('unknown'),
            )
            return { one, error }
          }),
        )
        for (const { one, error } of done) if (error !== null) await dropOut(one, error)
        // When no target is left there is nobody to read for, unless the sum itself is wanted.
        return writing.length > 0 || failures.length < targets.length
      })
      unproven.push(...writing)
      return sum
    } catch (error) {
      for (const { copy } of writing) await copy.discard()
      throw error
    }
  }
}

/** After a full disk has been met: not again bytes up to its edge for a file that cannot fit. */
async function refuseWhenFull(host: Host, target: Target, file: CardFile): Promise<void> {
  if (!target.wasFull) return
  const freeBytes = await host.files.disk.freeBytes(target.originals)
  if (freeBytes !== null && freeBytes < file.bytes)
    throw new Failure('io', 'no-space', { path: target.folder, neededBytes: file.bytes, freeBytes })
}

export function note(
  target: Target,
  file: CardFile,
  fared: { outcome: 'copied' | 'recognised' | 'failed'; copy?: string; sha256?: string; reason?: string },
): void {
  target.outcomes.set(file.file, {
    file: file.file,
    copy: fared.copy ?? null,
    bytes: file.bytes,
    sha256: fared.sha256 ?? null,
    outcome: fared.outcome,
    reason: fared.reason ?? null,
  })
}
