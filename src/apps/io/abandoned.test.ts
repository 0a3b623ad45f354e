import { spawnSync } from 'node:child_process'
import { mkdirSync, mkdtempSync, readdirSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import process from 'node:process'
import { expect, it } from 'vitest'
import { removeAbandonedFiles } from './abandoned.ts'

it('takes away what a dead process left half written, and nothing of a living one or of anybody else', async () => {
  const folder = mkdtempSync(join(tmpdir(), 'duskwork-abandoned-'))
  try {
    const dead = spawnSync(process.execPath, ['-e', ''], {}).pid
    mkdirSync(join(folder, 'brackets', '0001'), { recursive: true })
    const inside = join(folder, 'brackets', '0001')
    writeFileSync(join(inside, `.radiance.exr.${dead}-0123abcd.part`), 'x')
    writeFileSync(join(inside, `.record.json.${process.pid}-0123abcd.part`), 'x')
    writeFileSync(join(inside, '.my.part'), 'x')
    writeFileSync(join(inside, 'radiance.exr'), 'x')
    await removeAbandonedFiles(folder)
    expect(readdirSync(inside).sort()).toEqual(
      ['.my.part', `.record.json.${process.pid}-0123abcd.part`, 'radiance.exr'].sort(),
    )
  } finally {
    rmSync(folder, { recursive: true, force: true })
  }
})
