// Kernel benches: npm run bench lists them, npm run bench -- NAME runs one, npm run bench -- all runs each.
// npm run bench -- NAME --against REVISION alternates with another revision on the same warm machine.
// npm run bench -- bracket times a whole bracket (scripts/bench-bracket.mjs), card a whole card (scripts/bench-card.mjs).
import { spawnSync } from 'node:child_process'
import { existsSync, mkdtempSync, readdirSync, rmSync, symlinkSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { basename, dirname, join } from 'node:path'
import { fileURLToPath } from 'node:url'
import { parseArgs } from 'node:util'
import { createViteServer } from 'vitest/node'

const root = join(dirname(fileURLToPath(import.meta.url)), '..')
const { values, positionals } = parseArgs({
  allowPositionals: true,
  options: { against: { type: 'string' } },
  strict: false,
})
const benches = new Map(benchPaths().map((path) => [basename(path, '.bench.ts'), path]))
const [name] = positionals

if (name === 'bracket' || name === 'card') {
  const script = join(root, `scripts/bench-${name}.mjs`)
  if (!existsSync(script)) fail(`${script} is missing.`)
  process.exit(spawnSync(process.execPath, [script, ...process.argv.slice(3)], { stdio: 'inherit' }).status ?? 1)
}
if (!name) {
  console.log(
    `Benches: ${[...benches.keys()].sort().join(', ')}; bracket; card; all\nRun one with: npm run bench -- NAME`,
  )
} else if (name !== 'all' && !benches.has(name)) {
  fail(`There is no bench named ${name}. There are: ${[...benches.keys()].sort().join(', ')}, bracket, card.`)
} else if (typeof values.against === 'string') {
  alternate(name, values.against)
} else {
  await runHere(name === 'all' ? [...benches.keys()].sort() : [name])
}

/** Paths of the benches, relative to the root. */
function benchPaths() {
  return readdirSync(join(root, 'src'), { recursive: true })
    .filter((path) => path.endsWith('.bench.ts'))
    .map((path) => `src/${path.replaceAll('\\', '/')}`)
}

function fail(sentence) {
  console.error(sentence)
  process.exit(2)
}

/** Benches are TypeScript and lean on test/kernels.ts: the test runner's own loader reads them, nothing is compiled twice. */
async function runHere(names) {
  const server = await createViteServer({
    root,
    configFile: false,
    logLevel: 'error',
    server: { middlewareMode: true, hmr: false, watch: null },
    resolve: { conditions: ['duskwork-source'] },
    ssr: { resolve: { conditions: ['duskwork-source'] } },
  })
  for (const each of names) {
    console.log(`— ${each}`)
    await server.ssrLoadModule(`/${benches.get(each)}`)
  }
  await server.close()
}

/** Three rounds of old and new in turn: a machine that warms up or slows down does so for both. */
function alternate(which, revision) {
  const old = mkdtempSync(join(tmpdir(), 'duskwork-bench-'))
  const run = (cwd, command, args) => {
    const done = spawnSync(command, args, { cwd, stdio: 'inherit' })
    if (done.status !== 0) throw new Error(`${command} ${args.join(' ')} ended with ${done.status}`)
  }
  run(root, 'git', ['worktree', 'add', '--quiet', '--detach', '--force', old, revision])
  try {
    symlinkSync(join(root, 'node_modules'), join(old, 'node_modules'))
    run(old, process.execPath, ['scripts/build.mjs'])
    for (let round = 1; round <= 3; round++)
      for (const [label, cwd] of [
        [revision, old],
        ['here', root],
      ]) {
        console.log(`\nround ${round}, ${label}`)
        run(cwd, process.execPath, ['scripts/bench.mjs', which])
      }
  } finally {
    rmSync(join(old, 'node_modules'), { force: true })
    run(root, 'git', ['worktree', 'remove', '--force', old])
  }
}
