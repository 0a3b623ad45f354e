import { existsSync, readdirSync, readFileSync } from 'node:fs'
import { dirname, join } from 'node:path'
import { fileURLToPath } from 'node:url'
import { describe, expect, it } from 'vitest'

const root = join(dirname(fileURLToPath(import.meta.url)), '..')
const read = (path: string) => readFileSync(join(root, path), 'utf8')
const below = (folder: string, ending: RegExp) =>
  readdirSync(join(root, folder), { recursive: true, encoding: 'utf8' })
    .filter((path) => ending.test(path))
    .map((path) => `${folder}/${path.replaceAll('\\', '/')}`)

/** "Debevec, Malik 1997" or "Foi et al. 2008": two or more authors, so that no month or firm looks like one. */
const CITATION = /\b(\p{Lu}[\p{L}-]+)((?:, \p{Lu}[\p{L}-]+)+|,? et al\.),? \(?((?:19|20)\d\d)\b/gu

describe('the notes', () => {
  it('hold every source that code and notes cite by authors and year', () => {
    const bibliography = read('docs/bibliography.md')
    const entries = bibliography.split('\n').filter((line) => line.startsWith('| '))
    const missing = new Set<string>()
    let found = 0
    for (const path of [...below('src', /\.ts$/), ...below('docs', /\.md$/)]) {
      if (path.endsWith('bibliography.md')) continue
      for (const [cited, author, others, year] of read(path).matchAll(CITATION)) {
        found++
        const authors = [author!, ...(others!.match(/\p{Lu}[\p{L}-]+/gu) ?? [])]
        const known = entries.some((line) => line.includes(year!) && authors.some((a) => line.startsWith(`| ${a}`)))
        if (!known) missing.add(`${cited} in ${path}`)
      }
    }
    expect(found).toBeGreaterThan(20)
    expect([...missing]).toEqual([])
  })

  it('lead only to files that are there', () => {
    const broken: string[] = []
    for (const path of ['README.md', 'CONTRIBUTING.md', 'CHANGELOG.md', ...below('docs', /\.md$/)]) {
      for (const [, link] of read(path).matchAll(/\]\(([^)#:]+)\)/g)) {
        if (!existsSync(join(dirname(join(root, path)), link!))) broken.push(`${path}: ${link}`)
      }
    }
    expect(broken).toEqual([])
  })

  it('number every decision once, without gaps', () => {
    const numbers = below('docs/decisions', /\.md$/)
      .map((path) => Number(path.match(/(\d{4})-/)?.[1]))
      .sort((a, b) => a - b)
    expect(numbers).toEqual(numbers.map((_, i) => i + 1))
  })

  it('show in the README the commands that package.json has', () => {
    const { scripts } = JSON.parse(read('package.json')) as { scripts: Record<string, string> }
    const shown = [...`${read('README.md')}${read('CONTRIBUTING.md')}`.matchAll(/npm run ([\w-]+)/g)].map((m) => m[1]!)
    for (const name of shown) expect(Object.keys(scripts)).toContain(name)
    expect(shown.length).toBeGreaterThan(3)
  })
})
