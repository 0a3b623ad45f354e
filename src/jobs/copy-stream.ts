import { Failure } from '#core/base'
import type { Host, SourceFile } from './contract/index.ts'
import type { FoundFile } from './copy-walk.ts'

/** One read of this size is long enough for a card or a disk to run at full speed. */
const PART_BYTES = 2 * 1024 * 1024
/** Enough of a picture's beginning to hold the time it was taken. */
const HEAD_BYTES = 64 * 1024

/** Two buffers: one is filled while the other is used. One file is read at a time; others wait their turn. */
export interface Reader {
  /** Calls `use` with every part of a file in turn; the next is read meanwhile. Ends early when `use` says false. */
  each(source: SourceFile, use: (part: Uint8Array) => Promise<boolean>): Promise<void>
}

export function createReader(host: Host): Reader {
  const buffers = [host.files.disk.buffer(PART_BYTES), host.files.disk.buffer(PART_BYTES)] as const
  let turn: Promise<unknown> = Promise.resolve()

  async function readThrough(source: SourceFile, use: (part: Uint8Array) => Promise<boolean>): Promise<void> {
    const begin = (side: 0 | 1) => {
      const reading = source.read(buffers[side])
      // It may fail while the part before is still in use; whoever waits for it is told.
      reading.catch(() => {})
      return reading
    }
    let next = begin(0)
    try {
      for (let side: 0 | 1 = 0; ; side = side === 0 ? 1 : 0) {
        const bytes = await next
        host.throwIfStopped()
        if (bytes === 0) return
        const part = buffers[side].subarray(0, bytes)
        const isLast = bytes < PART_BYTES
        if (!isLast) next = begin(side === 0 ? 1 : 0)
        if (!(await use(part)) || isLast) return
      }
    } finally {
      // The file is closed after this: nobody may still be reading it.
      await next.catch(() => {})
    }
  }

  return {
    each(source, use) {
      const done = turn.then(() => readThrough(source, use))
      turn = done.catch(() => {})
      return done
    },
  }
}

/**
 * Reads a file of the card from its start to its end, and its SHA-256. `use` gets every part.
 * @throws Failure io; io "still-written" when the file is not now, or not after the reading, what the walk found
 */
export async function readCardFile(
  host: Host,
  reader: Reader,
  file: FoundFile,
  use: (part: Uint8Array) => Promise<boolean>,
): Promise<string> {
  const source = await host.files.disk.openSource(file.path)
  try {
    const unchanged = async () => {
      const now = await source.look()
      return now.bytes === file.bytes && now.modifiedMilliseconds === file.modifiedMilliseconds
    }
    const stillWritten = () => new Failure('io', 'still-written', { path: file.path, expectedBytes: file.bytes })
    if (!(await unchanged())) throw stillWritten()
    const sum = host.files.disk.sum()
    let bytes = 0
    let wanted = true
    await reader.each(source, async (part) => {
      bytes += part.length
      if (bytes > file.bytes) throw stillWritten()
      const used = use(part)
      sum.update(part)
      wanted = await used
      return wanted
    })
    if (!(await unchanged())) throw stillWritten()
    if (wanted && bytes !== file.bytes)
      throw new Failure('io', 'read-failed', { path: file.path, expectedBytes: file.bytes, foundBytes: bytes })
    return sum.hex()
  } finally {
    await source.close()
  }
}

export interface ReadBack {
  readonly sha256: string
  readonly bytes: number
  readonly aroundMemory: boolean
}

/** The SHA-256 of a copy as it stands on its disk, or of its first `most` bytes. */
export async function readBack(host: Host, reader: Reader, path: string, most = Infinity): Promise<ReadBack> {
  const source = await host.files.disk.openBack(path)
  try {
    const sum = host.files.disk.sum()
    let bytes = 0
    await reader.each(source, async (part) => {
      const rest = part.subarray(0, Math.min(part.length, most - bytes))
      sum.update(rest)
      bytes += rest.length
      return bytes < most
    })
    return { sha256: sum.hex(), bytes, aroundMemory: source.aroundMemory() }
  } finally {
    await source.close()
  }
}

/** The sum of a file's beginning: equal for equal files, and almost always different for different pictures. */
export async function headSum(host: Host, path: string, bytes = HEAD_BYTES): Promise<string | null> {
  try {
    const source = await host.files.disk.openSource(path)
    try {
      const head = new Uint8Array(Math.min(bytes, HEAD_BYTES))
      const sum = host.files.disk.sum()
      sum.update(head.subarray(0, await source.read(head)))
      return sum.hex()
    } finally {
      await source.close()
    }
  } catch (error) {
    // Whoever needs the file itself will meet the failure and name it.
    if (error instanceof Failure && error.kind === 'io') return null
    throw error
  }
}
