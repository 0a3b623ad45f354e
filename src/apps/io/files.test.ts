import { execFileSync } from 'node:child_process'
import {
  existsSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  symlinkSync,
  truncateSync,
  writeFileSync,
} from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { Failure } from '#core/base'
import { createFiles, READ_LIMIT_BYTES } from './files.ts'
import { hashes } from './hashes.ts'

const files = createFiles()
let folder: string
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'duskwork-files-'))
})
afterEach(() => rmSync(folder, { recursive: true, force: true }))

async function failureOf(work: Promise<unknown>): Promise<Failure> {
  const error = await work.then(
    () => null,
    (e: unknown) => e,
  )
  expect(error).toBeInstanceOf(Failure)
  return error as Failure
}

describe('files on disk', () => {
  it('come back byte for byte as they were written, whole, by head and into shared memory', async () => {
    const path = files.join(folder, 'a.bin')
    const parts = [Uint8Array.of(1, 2, 3), new Uint8Array(100_000).fill(7), Uint8Array.of(9)]
    await files.write(path, parts)
    expect(Buffer.compare(await files.read(path), Buffer.concat(parts))).toBe(0)
    expect([...(await files.readHead(path, 4))]).toEqual([1, 2, 3, 7])
    const shared = new Uint8Array(new SharedArrayBuffer(200_000))
    expect(await files.readInto(path, shared)).toBe(100_004)
    expect(Buffer.compare(shared.slice(0, 100_004), Buffer.concat(parts))).toBe(0)
    expect(await files.size(path)).toBe(100_004)
  })

  it('leave nothing but the target behind, and an older target is replaced whole', async () => {
    const path = files.join(folder, 'b.txt')
    await files.write(path, 'a longer first text')
    await files.write(path, 'second')
    expect(readFileSync(path, 'utf8')).toBe('second')
    expect(readdirSync(folder)).toEqual(['b.txt'])
  })

  it('leave a file alone that must not be replaced, name it, and write one that is new', async () => {
    const path = files.join(folder, 'once')
    await files.write(path, 'first', { replace: false })
    expect((await failureOf(files.write(path, 'second', { replace: false }))).toJSON()).toMatchObject({
      kind: 'io',
      code: 'file-there',
      facts: { path },
    })
    expect(readFileSync(path, 'utf8')).toBe('first')
    expect(readdirSync(folder)).toEqual(['once'])
  })

  it('keep the old target and no temporary file when a write cannot be finished', async () => {
    mkdirSync(join(folder, 'taken'))
    writeFileSync(join(folder, 'taken', 'inside'), 'kept')
    const failure = await failureOf(files.write(files.join(folder, 'taken'), 'x'))
    expect(failure.kind).toBe('io')
    expect(['is-a-folder', 'folder-not-empty']).toContain(failure.code)
    expect(readdirSync(folder)).toEqual(['taken'])
    expect(readFileSync(join(folder, 'taken', 'inside'), 'utf8')).toBe('kept')
  })

  it.skipIf(!existsSync('/dev/full'))('name a full disk as such (device that is always full)', async () => {
    const { open } = await import('node:fs/promises')
    const { ioFailure } = await import('./failures.ts')
    const handle = await open('/dev/full', 'w')
    const error = await handle.write(Buffer.from('x')).catch((e: unknown) => e)
    await handle.close()
    expect(ioFailure(error, '/somewhere/a.exr', 'write-failed').toJSON()).toEqual({
      kind: 'io',
      code: 'no-space',
      facts: { path: '/somewhere/a.exr', errno: 'ENOSPC', attempt: 'write-failed' },
    })
  })

  it('that are missing, folders, or below a file are refused by name with their path', async () => {
    const missing = files.join(folder, 'no.dng')
    expect((await failureOf(files.read(missing))).toJSON()).toMatchObject({
      code: 'not-found',
      facts: { path: missing },
    })
    expect((await failureOf(files.size(missing))).code).toBe('not-found')
    expect((await failureOf(files.read(folder))).code).toBe('is-a-folder')
    expect((await failureOf(files.list(missing))).code).toBe('not-found')
    writeFileSync(join(folder, 'plain'), '')
    expect((await failureOf(files.makeDirectory(files.join(folder, 'plain')))).code).toBe('not-a-folder')
    expect((await failureOf(files.write(files.join(folder, 'plain', 'x'), ''))).code).toBe('not-a-folder')
    expect((await failureOf(files.write(files.join(folder, 'gone', 'x'), ''))).code).toBe('not-found')
    expect(await files.exists(files.join(folder, 'plain', 'x'))).toBe(false)
  })

  it.skipIf(process.platform === 'win32')('that never end are refused before they are read', async () => {
    execFileSync('mkfifo', [join(folder, 'pipe')])
    expect((await failureOf(files.read(join(folder, 'pipe')))).code).toBe('not-a-file')
    expect((await failureOf(files.readHead('/dev/zero', 16))).code).toBe('not-a-file')
  })

  it('larger than the limit, or than the memory laid out for them, are refused unread', async () => {
    const path = join(folder, 'sparse')
    writeFileSync(path, '')
    truncateSync(path, READ_LIMIT_BYTES + 1)
    expect((await failureOf(files.read(path))).toJSON()).toMatchObject({ kind: 'limit', code: 'file-too-large' })
    expect((await failureOf(files.readInto(path, new Uint8Array(8)))).kind).toBe('limit')
    expect((await files.readHead(path, 16)).length).toBe(16)
  })

  it('are listed by name, with a dead link as an empty file rather than lost', async () => {
    writeFileSync(join(folder, 'b'), '12')
    mkdirSync(join(folder, 'a'))
    symlinkSync(join(folder, 'nowhere'), join(folder, 'c'))
    expect((await files.list(folder)).map((e) => [e.name, e.isDirectory, e.bytes])).toEqual([
      ['a', true, expect.any(Number)],
      ['b', false, 2],
      ['c', false, 0],
    ])
    expect((await failureOf(files.read(join(folder, 'c')))).code).toBe('not-found')
  })

  it('may be removed twice', async () => {
    const path = files.join(folder, 'gone')
    await files.write(path, 'x')
    await files.remove(path)
    await files.remove(path)
    expect(await files.exists(path)).toBe(false)
  })
})

describe('checksums', () => {
  // RFC 1321 appendix A.5 ("abc"); FIPS 180-4 example for SHA-256 ("abc").
  it('agree with the published values for "abc", over shared memory too', () => {
    const abc = new Uint8Array(new SharedArrayBuffer(3))
    abc.set([97, 98, 99])
    expect(hashes.md5(abc)).toBe('900150983cd24fb0d6963f7d28e17f72')
    expect(hashes.sha256(abc)).toBe('ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad')
  })
})
