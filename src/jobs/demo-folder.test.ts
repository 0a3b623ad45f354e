import { mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { createFiles } from '#apps/io'
import { requireDemoFolder } from './demo-folder.ts'

let folder: string
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'duskwork-demo-folder-'))
})
afterEach(() => rmSync(folder, { recursive: true, force: true }))

const put = (name: string, text: string) => writeFileSync(join(folder, name), text)
const asked = (path = folder) => requireDemoFolder(createFiles(), path)
const made = '{"schema":"outing/1","camera":{"make":"Weirside","model":"Lantern 12"}}'

describe('a demonstration is written', () => {
  it('where nothing is yet, into an empty folder, and into one with hidden files only', async () => {
    await asked(join(folder, 'new'))
    await asked()
    put('.listing', 'x')
    await asked()
  })

  it('over an earlier demonstration, be it whole or barely begun', async () => {
    put('outing.json', made)
    await asked()
    mkdirSync(join(folder, 'originals'))
    put('originals/DUSK_0001.DNG', 'x')
    put('originals/DUSK_0002.JPG', 'x')
    await asked()
  })
})

describe('a demonstration is refused by name', () => {
  const refused = { kind: 'io', code: 'folder-not-empty' }

  it('in a folder with anything else in it, another outing among them', async () => {
    put('letter.txt', 'dear')
    await expect(asked()).rejects.toMatchObject({ ...refused, facts: { path: folder } })
    put('outing.json', '{"schema":"outing/1","camera":{"make":"Weirside","model":"another"}}')
    await expect(asked()).rejects.toMatchObject(refused)
    put('outing.json', 'not a document')
    await expect(asked()).rejects.toMatchObject(refused)
    expect(readFileSync(join(folder, 'letter.txt'), 'utf8')).toBe('dear')
  })

  it('where pictures of somebody’s stand among the demonstration’s originals', async () => {
    put('outing.json', made)
    mkdirSync(join(folder, 'originals'))
    put('originals/IMG_0001.DNG', 'x')
    await expect(asked()).rejects.toMatchObject(refused)
  })

  it('where a file stands instead of a folder', async () => {
    put('file', 'x')
    await expect(asked(join(folder, 'file'))).rejects.toMatchObject({ code: 'not-a-folder' })
  })
})
