import { readdir, rm } from 'node:fs/promises'
import { join } from 'node:path'
import process from 'node:process'

/** The names that writeAtomically gives to files on their way: .NAME.PROCESS-RANDOM.part */
const ON_ITS_WAY = /^\..+\.(\d+)-[0-9a-f]{8}\.part$/

/** Removes what a run that was killed left half written below an outing; a running process keeps its own. Never fails. */
export async function removeAbandonedFiles(folder: string, depth = 2): Promise<void> {
  const entries = await readdir(folder, { withFileTypes: true }).catch(() => [])
  for (const entry of entries) {
    const path = join(folder, entry.name)
    if (entry.isDirectory() && depth > 0) await removeAbandonedFiles(path, depth - 1)
    const owner = entry.isFile() ? ON_ITS_WAY.exec(entry.name)?.[1] : undefined
    if (owner !== undefined && !isRunning(Number(owner))) await rm(path, { force: true }).catch(() => {})
  }
}

function isRunning(pid: number): boolean {
  if (pid === process.pid) return true
  try {
    process.kill(pid, 0)
    return true
  } catch (error) {
    return (error as NodeJS.ErrnoException).code === 'EPERM'
  }
}
