import { createHash, randomBytes } from 'node:crypto'
import { constants, mkdir, open, readdir, rename, rm, rmdir, stat, writeFile } from 'node:fs/promises'
import { hostname } from 'node:os'
import { basename, join } from 'node:path'
import process from 'node:process'
import { setTimeout as pause } from 'node:timers/promises'
import { Failure } from '#core/base'
import { type Claim, COPYING_FOLDER } from '#jobs/contract'
import { ioFailure } from './failures.ts'
import { unfinished } from './write.ts'

/** A running claim lengthens its mark this often. */
const BEAT_MILLISECONDS = 1000
/** A mark that has not grown for so many beats belongs to no running copy, whatever the number of its process says. */
const SILENT_BEATS = 10

/** Machine, process, and a number of its own; a process number alone says nothing on a disk that machines share. */
const MARK = /^([0-9a-f]{8})-(\d+)-[0-9a-f]{8}\.(asks|holds|part)$/
const machine = createHash('sha256').update(hostname()).digest('hex').slice(0, 8)
const newName = (ending: string) => `${machine}-${process.pid}-${randomBytes(4).toString('hex')}.${ending}`

/**
 * Claims a folder for one copy at a time and clears away what an earlier one left unfinished. Whoever asks leaves a mark
 * and lengthens it; a mark of a process that is gone, or that grows no more, was left by a run that was killed.
 * @throws Failure io "copy-running"
 */
export async function claimFolder(folder: string, beatMilliseconds = BEAT_MILLISECONDS): Promise<Claim> {
  const place = join(folder, COPYING_FOLDER)
  const asking = join(place, newName('asks'))
  const holding = asking.replace(/asks$/, 'holds')
  let mark = asking
  const beat = setInterval(() => void lengthen(mark).catch(() => {}), beatMilliseconds)
  beat.unref()
  const leave = async () => {
    clearInterval(beat)
    for (const path of [asking, holding]) {
      await rm(path, { force: true }).catch(() => {})
      unfinished.delete(path)
    }
    await rmdir(place).catch(() => {})
  }
  const own = new Set<string>()
  try {
    for (const path of [asking, holding]) unfinished.add(path)
    await writeMark(place, asking)
    const stale = await untilAlone(place, asking, beatMilliseconds)
    if (!stale) throw new Failure('io', 'copy-running', { path: folder })
    await rename(asking, holding)
    mark = holding
    for (const name of await readdir(place))
      if (stale.has(name) || MARK.exec(name)?.[3] === 'part') await rm(join(place, name), { force: true })
  } catch (error) {
    await leave()
    throw ioFailure(error, place, 'make-folder-failed')
  }
  return {
    unfinished() {
      const path = join(place, newName('part'))
      own.add(path)
      return path
    },
    async release() {
      for (const path of own) if (unfinished.delete(path)) await rm(path, { force: true }).catch(() => {})
      await leave()
    },
  }
}

/** Another run that ends may take the folder away just before the mark is written into it. */
async function writeMark(place: string, mark: string): Promise<void> {
  for (let tries = 0; ; tries++) {
    await mkdir(place).catch((error: NodeJS.ErrnoException) => {
      if (error.code !== 'EEXIST') throw error
    })
    try {
      return await writeFile(mark, '.', { flag: 'wx' })
    } catch (error) {
      if ((error as NodeJS.ErrnoException).code !== 'ENOENT' || tries >= 3) throw error
    }
  }
}

/** Never makes the file anew: a beat may still be under way when the claim ends. */
async function lengthen(mark: string): Promise<void> {
  const handle = await open(mark, constants.O_WRONLY | constants.O_APPEND)
  try {
    await handle.write('.')
  } finally {
    await handle.close()
  }
}

/**
 * Waits until nobody else can hold the folder, and returns the marks of those who are gone; null as soon as somebody
 * holds it. Of several who ask, the first by name goes on: the others give way to it, and it waits until they have.
 */
async function untilAlone(place: string, asking: string, beatMilliseconds: number): Promise<Set<string> | null> {
  const stale = new Set<string>()
  const seen = new Map<string, { size: number; silentBeats: number; isAlive: boolean }>()
  for (;;) {
    let waits = false
    for (const name of await readdir(place)) {
      const [, machineOf, processOf, ending] = name.match(MARK) ?? []
      if (ending === undefined || ending === 'part' || join(place, name) === asking || stale.has(name)) continue
      const size = (await stat(join(place, name)).catch(() => null))?.size
      if (size === undefined) continue
      const before = seen.get(name) ?? { size, silentBeats: 0, isAlive: false }
      const isAlive = before.isAlive || size > before.size
      const silentBeats = size > before.size ? 0 : before.silentBeats + 1
      if ((machineOf === machine && !isThere(Number(processOf))) || silentBeats > SILENT_BEATS) stale.add(name)
      else if (isAlive && (ending === 'holds' || name < basename(asking))) return null
      else waits = true
      seen.set(name, { size, silentBeats, isAlive })
    }
    if (!waits) return stale
    await pause(beatMilliseconds)
  }
}

/** Signal 0 asks whether a process is there and does nothing to it. */
function isThere(id: number): boolean {
  try {
    process.kill(id, 0)
    return true
  } catch (error) {
    return (error as NodeJS.ErrnoException).code === 'EPERM'
  }
}
