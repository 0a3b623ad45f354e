import { type ChildProcess, spawn } from 'node:child_process'
import { createHash } from 'node:crypto'
import { mkdtempSync, readdirSync, readFileSync, rmSync, statSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { dirname, join } from 'node:path'
import { fileURLToPath } from 'node:url'

const program = join(dirname(fileURLToPath(import.meta.url)), '../bin/duskwork')

export interface Ended {
  readonly code: number | null
  readonly out: string
  readonly err: string
}

/** The built program as a shell would run it. `meet` sees it running; `uid` runs it as another user. */
export function duskwork(
  args: readonly string[],
  { meet, uid, cwd }: { meet?: (child: ChildProcess) => void; uid?: number; cwd?: string } = {},
): Promise<Ended> {
  return new Promise((resolve) => {
    const child = spawn(process.execPath, [program, ...args], {
      stdio: ['ignore', 'pipe', 'pipe'],
      ...(uid === undefined ? {} : { uid, gid: uid }),
      ...(cwd === undefined ? {} : { cwd }),
    })
    let out = ''
    let err = ''
    child.stdout.setEncoding('utf8').on('data', (data) => (out += data))
    child.stderr.setEncoding('utf8').on('data', (data) => (err += data))
    child.on('close', (code) => resolve({ code, out, err }))
    meet?.(child)
  })
}

/** What it said on standard error that is no progress: the lines that begin with the program's name. */
export const complaints = (err: string) => err.split('\n').filter((line) => line.startsWith('duskwork:'))

/** A folder that goes when the tests of a file are over. */
export function scratchFolder(name: string) {
  const folder = mkdtempSync(join(tmpdir(), `duskwork-${name}-`))
  return { folder, remove: () => rmSync(folder, { recursive: true, force: true }) }
}

/** Every file below a folder by relative path, hidden ones included, in order. */
export const filesIn = (folder: string): string[] =>
  (readdirSync(folder, { recursive: true, encoding: 'utf8' }) as string[])
    .filter((path) => statSync(join(folder, path)).isFile())
    .sort()

export const checksum = (path: string) => createHash('sha256').update(readFileSync(path)).digest('hex')

/** Checksums of every file below a folder. */
export const checksums = (folder: string): Record<string, string> =>
  Object.fromEntries(filesIn(folder).map((path) => [path, checksum(join(folder, path))]))
