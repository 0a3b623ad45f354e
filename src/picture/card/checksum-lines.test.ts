import { spawnSync } from 'node:child_process'
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { checksumLines, checksumText } from './checksum-lines.ts'

// FIPS 180-4, example: SHA-256 of "abc".
const abc = 'ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad'
const names = [
  'plain.DNG',
  'two  blanks',
  'rivière 夜.DNG',
  'back\\slash',
  'line\nbreak',
  'return\rhere',
  '\\n',
  ' lead',
]
const hasTool = process.platform !== 'win32' && spawnSync('sha256sum', ['--version']).status === 0

describe('the list of checksums', () => {
  it.skipIf(!hasTool)('is accepted by sha256sum for names with backslashes and line breaks', () => {
    const folder = mkdtempSync(join(tmpdir(), 'duskwork-sums-'))
    for (const name of names) writeFileSync(join(folder, name), 'abc')
    writeFileSync(join(folder, 'sums'), checksumText(names.map((path) => ({ path, sha256: abc }))))
    const done = spawnSync('sha256sum', ['-c', '--strict', 'sums'], { cwd: folder, encoding: 'utf8' })
    rmSync(folder, { recursive: true })
    expect([done.status, done.stderr]).toEqual([0, ''])
    expect(done.stdout.match(/: OK$/gm)?.length).toBe(names.length)
  })

  it.skipIf(!hasTool)('is read as sha256sum writes it', () => {
    const folder = mkdtempSync(join(tmpdir(), 'duskwork-sums-'))
    for (const name of names) writeFileSync(join(folder, name), 'abc')
    const { stdout } = spawnSync('sha256sum', ['--', ...names], { cwd: folder, encoding: 'utf8' })
    rmSync(folder, { recursive: true })
    expect(checksumLines(stdout)).toEqual(names.map((path) => ({ path, sha256: abc })))
  })

  it('comes back as it was written, whatever the names', () => {
    const path = fc.string({ minLength: 1, unit: 'binary' }).map((s) => `originals/${s}`)
    fc.assert(
      fc.property(fc.uniqueArray(path), (paths) => {
        const lines = paths.map((p) => ({ path: p, sha256: abc })).sort((a, b) => (a.path < b.path ? -1 : 1))
        expect(checksumLines(checksumText(lines))).toEqual(lines)
      }),
    )
  })

  it('costs only the damaged lines when it is damaged, and never fails', () => {
    const text = `${abc}  a\n${abc.slice(1)}  b\n\\${abc}  c\\x\n\\${abc}  d\\\nnonsense\n${abc} *e\r\n`
    expect(checksumLines(text).map((l) => l.path)).toEqual(['a', 'e'])
    const wild = fc.array(fc.constantFrom('\\', abc, ' ', '  ', '*', '\n', '\r', 'x')).map((parts) => parts.join(''))
    let found = 0
    fc.assert(
      fc.property(wild, (s) => {
        for (const { path } of checksumLines(s)) {
          expect(path.length).toBeGreaterThan(0)
          found++
        }
      }),
    )
    expect(found).toBeGreaterThan(0)
  })
})
