// All that must hold before a change goes in: build, types, purity, style, walls, every test, and a tree left as it was.
// Ends with "N passed, N failed": tests, with each failed step of the others counted as one more failure.
import { spawnSync } from 'node:child_process'
import { existsSync, mkdtempSync, readFileSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { dirname, join } from 'node:path'
import { fileURLToPath } from 'node:url'

const root = join(dirname(fileURLToPath(import.meta.url)), '..')
const scratch = mkdtempSync(join(tmpdir(), 'duskwork-check-'))
const summaryPath = join(scratch, 'tests.json')
const failedSteps = []

const tool = (...path) => [process.execPath, join(root, 'node_modules', ...path)]
const before = treeState()
step('build', [process.execPath, join(root, 'scripts/build.mjs')])
step('types', [...tool('typescript/bin/tsc'), '-p', 'tsconfig.json', '--noEmit'])
step('pure floors', [...tool('typescript/bin/tsc'), '-p', 'tsconfig.pure.json', '--noEmit'])
step('page', [...tool('typescript/bin/tsc'), '-p', 'tsconfig.web.json', '--noEmit'])
step('style', [...tool('@biomejs/biome/bin/biome'), 'check', '--error-on-warnings', '.'])
step('walls', [
  ...tool('dependency-cruiser/bin/dependency-cruise.mjs'),
  '--config',
  '.dependency-cruiser.cjs',
  'src',
  'test',
])
// The command of the README itself, with a summary that can be counted.
const npm = process.platform === 'win32' ? 'npm.cmd' : 'npm'
step('tests', [npm, 'test', '--', '--reporter=default', '--reporter=json', `--outputFile.json=${summaryPath}`])
const after = treeState()
if (before !== after) {
  console.log(`\n== tree\nThe run changed files that are under version control, or left new ones:\n${after}`)
  failedSteps.push('tree')
}

const { passed, failed, skipped } = countTests()
rmSync(scratch, { recursive: true, force: true })
if (skipped > 0) console.log(`\n${skipped} tests skipped: their titles say what they need.`)
if (failedSteps.length > 0) console.log(`\nFailed: ${failedSteps.join(', ')}`)
// A failed test shows in the test count; the test step itself counts only when it broke without one.
const brokenSteps = failedSteps.filter((name) => name !== 'tests' || failed === 0).length
console.log(`\n${passed} passed, ${failed + brokenSteps} failed`)
process.exitCode = failed + brokenSteps > 0 ? 1 : 0

function step(name, [command, ...args]) {
  const start = performance.now()
  console.log(`\n== ${name}`)
  const done = spawnSync(command, args, { cwd: root, stdio: ['ignore', 'inherit', 'inherit'] })
  if (done.status !== 0) failedSteps.push(name)
  console.log(
    `== ${name}: ${done.status === 0 ? 'holds' : 'FAILS'} (${((performance.now() - start) / 1000).toFixed(1)} s)`,
  )
}

function countTests() {
  if (!existsSync(summaryPath)) return { passed: 0, failed: 0, skipped: 0 }
  const { numPassedTests, numFailedTests, numPendingTests } = JSON.parse(readFileSync(summaryPath, 'utf8'))
  return { passed: numPassedTests, failed: numFailedTests, skipped: numPendingTests }
}

/** What version control sees as changed or new; empty where there is none (an unpacked archive). */
function treeState() {
  const done = spawnSync('git', ['status', '--porcelain'], { cwd: root, encoding: 'utf8' })
  return done.status === 0 ? done.stdout : ''
}
