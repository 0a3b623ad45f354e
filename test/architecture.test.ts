import { execFileSync } from 'node:child_process'
import { cpSync, mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { dirname, join } from 'node:path'
import { fileURLToPath } from 'node:url'
import { afterAll, describe, expect, it } from 'vitest'

const root = join(dirname(fileURLToPath(import.meta.url)), '..')
const cruiser = join(root, 'node_modules/dependency-cruiser/bin/dependency-cruise.mjs')

/** Broken rules as "rule: from → to", sorted. */
function violations(cwd: string): string[] {
  const output = execFileSync(
    process.execPath,
    [cruiser, '--config', '.dependency-cruiser.cjs', '-T', 'json', 'src', 'test'],
    { cwd, encoding: 'utf8', maxBuffer: 1 << 28, stdio: ['ignore', 'pipe', 'inherit'] },
  )
  const { summary } = JSON.parse(output) as {
    summary: { violations: { rule: { name: string }; from: string; to: string }[]; totalCruised: number }
  }
  expect(summary.totalCruised).toBeGreaterThan(3)
  return summary.violations.map((v) => `${v.rule.name}: ${v.from} → ${v.to}`).sort()
}

const made: string[] = []
afterAll(() => {
  for (const folder of made) rmSync(folder, { recursive: true, force: true })
})

/** A small house under this project's own rules, with stand-ins for the libraries. */
function house(files: Record<string, string>): string {
  const folder = mkdtempSync(join(tmpdir(), 'duskwork-house-'))
  made.push(folder)
  for (const name of ['.dependency-cruiser.cjs', 'tsconfig.json', 'package.json'])
    cpSync(join(root, name), join(folder, name))
  const libraries = ['sharp', 'commander', 'zod', 'saxes', 'fflate', 'stranger']
  const stand = Object.fromEntries(
    libraries.flatMap((name) => [
      [`node_modules/${name}/package.json`, `{"name":"${name}","version":"1.0.0","type":"module","main":"index.js"}`],
      [`node_modules/${name}/index.js`, 'export const it = 1\n'],
    ]),
  )
  for (const [path, text] of Object.entries({ ...stand, ...sound, ...files })) {
    mkdirSync(dirname(join(folder, path)), { recursive: true })
    writeFileSync(join(folder, path), text)
  }
  return folder
}

/** Rooms that keep every rule. */
const sound = {
  'src/core/base/index.ts': `export { one } from './one.ts'\n`,
  'src/core/base/one.ts': 'export const one = 1\n',
  'src/core/formats/index.ts': `import { it } from 'fflate'\nimport { one } from '#core/base'\nexport const zip = it + one\n`,
  'src/picture/raw/index.ts': `export { raw } from './raw.ts'\n`,
  'src/picture/raw/raw.ts': `import { zip } from '#core/formats'\nexport const raw = zip\nexport type Raw = number\n`,
  'src/picture/raw/raw.test.ts': `import { readFileSync } from 'node:fs'\nimport { raw } from './raw.ts'\nreadFileSync(String(raw))\n`,
  'src/jobs/schemas/index.ts': `import { it } from 'zod'\nexport const schema = it\n`,
  'src/jobs/contract/index.ts': `export { schema as contract } from '#jobs/schemas'\n`,
  'src/jobs/index.ts': `export { merge } from './merge.ts'\n`,
  'src/jobs/merge.ts': `import { raw } from '#picture/raw'\nimport { contract } from './contract/index.ts'\nexport const merge = raw + contract\n`,
  'src/apps/io/index.ts': `import { readFileSync } from 'node:fs'\nimport { it } from 'sharp'\nexport const io = readFileSync(String(it))\n`,
  'src/apps/cli/main.ts': `import { it } from 'commander'\nimport { io } from '#apps/io'\nimport { merge } from '#jobs'\nexport const main = [it, io, merge]\n`,
  'test/whole.test.ts': `import { merge } from '#jobs'\nexport const whole = merge\n`,
}

describe('the walls of the house', () => {
  it('stand: no file of this project breaks a rule', () => {
    expect(violations(root)).toEqual([])
  })

  it('let a house through that keeps every rule', () => {
    expect(violations(house({}))).toEqual([])
  })

  const plants: [fact: string, files: Record<string, string>, expected: string[]][] = [
    [
      'an import of a higher floor, even of a type',
      { 'src/core/base/two.ts': `import type { Raw } from '#picture/raw'\nexport type Two = Raw\n` },
      ['floor-core: src/core/base/two.ts → src/picture/raw/index.ts'],
    ],
    [
      'an import past a door',
      { 'src/picture/merge/index.ts': `export { raw } from '../raw/raw.ts'\n` },
      [
        'door-by-name: src/picture/merge/index.ts → src/picture/raw/raw.ts',
        'door: src/picture/merge/index.ts → src/picture/raw/raw.ts',
      ],
    ],
    [
      'a use-case that enters a room past its door, and a test that enters a use-case so',
      {
        'src/jobs/print.ts': `export { raw } from '../picture/raw/raw.ts'\n`,
        'test/deep.test.ts': `import { merge } from '../src/jobs/merge.ts'\nexport const deep = merge\n`,
      },
      [
        'door-from-the-jobs: src/jobs/print.ts → src/picture/raw/raw.ts',
        'door-of-the-jobs: test/deep.test.ts → src/jobs/merge.ts',
      ],
    ],
    [
      'another room reached by a climbing path',
      { 'src/picture/merge/index.ts': `export { raw } from '../raw/index.ts'\n` },
      ['door-by-name: src/picture/merge/index.ts → src/picture/raw/index.ts'],
    ],
    [
      'a circle, even of types',
      {
        'src/core/pixels/a.ts': `import type { B } from './b.ts'\nexport type A = B | 1\n`,
        'src/core/pixels/b.ts': `import type { A } from './a.ts'\nexport type B = A | 2\n`,
      },
      ['cycle: src/core/pixels/a.ts → src/core/pixels/b.ts'],
    ],
    [
      'a second home of a library',
      { 'src/picture/raw/zip.ts': `import { it } from 'fflate'\nexport const zip = it\n` },
      ['home-of-fflate: src/picture/raw/zip.ts → node_modules/fflate/index.js'],
    ],
    [
      'a library that has no home at all',
      { 'src/apps/io/stranger.ts': `import { it } from 'stranger'\nexport const stranger = it\n` },
      ['library-without-a-home: src/apps/io/stranger.ts → node_modules/stranger/index.js'],
    ],
    [
      'Node on a pure floor',
      { 'src/jobs/clock.ts': `import { hrtime } from 'node:process'\nexport const now = hrtime\n` },
      ['pure-floors: src/jobs/clock.ts → process'],
    ],
    [
      'a program that leans on its tests',
      { 'src/core/base/two.ts': `export { whole } from '../../../test/whole.test.ts'\n` },
      ['tests-stay-outside: src/core/base/two.ts → test/whole.test.ts'],
    ],
    [
      'an import that leads nowhere',
      { 'src/core/base/two.ts': `export { gone } from './gone.ts'\n` },
      ['unresolved: src/core/base/two.ts → ./gone.ts'],
    ],
  ]
  it.each(plants)('stop %s', (_fact, files, expected) => {
    expect(violations(house(files))).toEqual(expected.sort())
  })

  it('are told to every contributor: the rules of the house name each library of package.json', () => {
    const { dependencies } = JSON.parse(readFileSync(join(root, 'package.json'), 'utf8')) as {
      dependencies: Record<string, string>
    }
    const config = readFileSync(join(root, '.dependency-cruiser.cjs'), 'utf8')
    const homes = [...config.matchAll(/^ {2}'?([\w@/-]+)'?: '\^src\//gm)].map((m) => m[1])
    expect(homes.sort()).toEqual(Object.keys(dependencies).sort())
  })
})
