import { describe, expect, it } from 'vitest'
import type { Files } from './contract/index.ts'
import { requireDemoFolder } from './demo-folder.ts'

/** Files in memory: full path to text. A folder is there when something is below it, or when it is named with null. */
function filesOf(tree: Readonly<Record<string, string | null>>) {
  const below = (path: string) => Object.keys(tree).filter((p) => p.startsWith(`${path}/`))
  return {
    exists: async (path: string) => path in tree || below(path).length > 0,
    isDirectory: async (path: string) => tree[path] === null || below(path).length > 0,
    list: async (path: string) =>
      [...new Set(below(path).map((p) => p.slice(path.length + 1).split('/')[0]!))].map((name) => ({ name })),
    read: async (path: string) => new Uint8Array(Buffer.from(tree[path]!)),
    join: (...parts: string[]) => parts.join('/'),
  } as unknown as Files
}

const asked = (tree: Readonly<Record<string, string | null>>) => requireDemoFolder(filesOf(tree), 'night')
const made = '{"schema":"outing/1","camera":{"make":"Weirside","model":"Lantern 12"}}'
const another = '{"schema":"outing/1","camera":{"make":"Weirside","model":"another"}}'

describe('a demonstration is written', () => {
  it('where nothing is yet, into an empty folder, and into one with hidden files only', async () => {
    await asked({})
    await asked({ night: null })
    await asked({ 'night/.listing': 'x' })
  })

  it('over an earlier demonstration, be it whole or barely begun', async () => {
    await asked({ 'night/outing.json': made })
    await asked({ 'night/outing.json': made, 'night/originals/DUSK_0001.DNG': '', 'night/originals/DUSK_0002.JPG': '' })
  })
})

describe('a demonstration is refused by name', () => {
  const refused = { kind: 'io', code: 'folder-not-empty', facts: { path: 'night' } }

  it.each([
    ['another file', { 'night/letter.txt': 'dear' }],
    ['pictures', { 'night/originals/DUSK_0001.DNG': '' }],
    ['the outing of another camera', { 'night/outing.json': another }],
    ['a damaged outing', { 'night/outing.json': 'not a document' }],
    ['pictures of somebody’s among its own', { 'night/outing.json': made, 'night/originals/IMG_0001.DNG': '' }],
  ])('where there is %s', async (_, tree) => {
    await expect(asked(tree)).rejects.toMatchObject(refused)
  })

  it('where a file stands instead of a folder', async () => {
    await expect(asked({ night: 'a file' })).rejects.toMatchObject({ code: 'not-a-folder' })
  })
})
