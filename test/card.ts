import { createCipheriv, createHash } from 'node:crypto'
import { lstatSync, mkdirSync, readdirSync, readFileSync, utimesSync, writeFileSync } from 'node:fs'
import { dirname, join } from 'node:path'
import { checksumLines } from '#picture/card'

/** Bytes that look like nothing else's, always the same for the same seed. */
export function noise(bytes: number, seed: string | number): Buffer {
  const key = createHash('sha256').update(String(seed)).digest().subarray(0, 16)
  return createCipheriv('aes-128-ctr', key, Buffer.alloc(16)).update(Buffer.alloc(bytes))
}

/** Writes files with dates of long ago, as a camera would have left them. */
export function writeCard(folder: string, files: Readonly<Record<string, Uint8Array | string>>): void {
  mkdirSync(folder, { recursive: true })
  for (const [name, bytes] of Object.entries(files)) {
    const path = join(folder, name)
    mkdirSync(dirname(path), { recursive: true })
    writeFileSync(path, bytes)
    const seconds = 1_800_000_000 + (bytes.length % 1000)
    utimesSync(path, seconds, seconds)
  }
}

/** Every path below a folder, in order; links are not followed. */
function pathsIn(folder: string, below = ''): string[] {
  return readdirSync(join(folder, below))
    .sort()
    .flatMap((name) => {
      const path = below ? `${below}/${name}` : name
      return [path, ...(lstatSync(join(folder, path)).isDirectory() ? pathsIn(folder, path) : [])]
    })
}

const sumOf = (path: string) => createHash('sha256').update(readFileSync(path)).digest('hex')

/** Every path below a folder with its kind, size, time and content: equal before and after means untouched. */
export function stateOf(folder: string): string[] {
  return pathsIn(folder).map((name) => {
    const path = join(folder, name)
    const found = lstatSync(path)
    return [name, found.mode, found.size, found.mtimeMs, found.isFile() ? sumOf(path) : ''].join(' ')
  })
}

/** The files below a folder by path, with their sums. */
export function sumsIn(folder: string): Record<string, string> {
  const files = pathsIn(folder).filter((name) => lstatSync(join(folder, name)).isFile())
  return Object.fromEntries(files.map((name) => [name, sumOf(join(folder, name))]))
}

export const copiesIn = (outing: string) => sumsIn(join(outing, 'originals'))

/** The list of checksums holds for every file that it names; returns how many there are. */
export function checksumsHold(outing: string): number {
  const lines = checksumLines(readFileSync(join(outing, 'checksums.sha256'), 'utf8'))
  for (const { path, sha256 } of lines) {
    const found = createHash('sha256')
      .update(readFileSync(join(outing, path)))
      .digest('hex')
    if (found !== sha256) throw new Error(`${path} has not the sum that is listed`)
  }
  return lines.length
}
