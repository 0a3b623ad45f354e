// Builds what runs: TypeScript to dist/, kernels to dist/kernels.wasm. Only npm packages are needed.
import { spawnSync } from 'node:child_process'
import { existsSync, mkdirSync, readdirSync, statSync } from 'node:fs'
import { dirname, join } from 'node:path'
import { fileURLToPath } from 'node:url'

const root = join(dirname(fileURLToPath(import.meta.url)), '..')
const bin = (name) => join(root, 'node_modules', name)

function run(file, args) {
  const done = spawnSync(process.execPath, [file, ...args], { cwd: root, stdio: 'inherit' })
  if (done.status !== 0) process.exit(done.status ?? 1)
}

/** Every *.kernel.ts below the kernels room, in a stable order. */
function kernelSources(dir = join(root, 'src/core/kernels')) {
  return readdirSync(dir, { withFileTypes: true })
    .sort((a, b) => (a.name < b.name ? -1 : 1))
    .flatMap((e) =>
      e.isDirectory() ? kernelSources(join(dir, e.name)) : e.name.endsWith('.kernel.ts') ? [join(dir, e.name)] : [],
    )
}

function buildKernels() {
  const sources = kernelSources()
  const out = join(root, 'dist/kernels.wasm')
  mkdirSync(dirname(out), { recursive: true })
  const newest = Math.max(...sources.map((s) => statSync(s).mtimeMs), statSync(fileURLToPath(import.meta.url)).mtimeMs)
  if (existsSync(out) && statSync(out).mtimeMs > newest) return
  // stub runtime, no abort, imported shared memory: a kernel owns no memory and no state (see docs/architecture.md).
  run(bin('assemblyscript/bin/asc.js'), [
    ...sources.map((s) => s.slice(root.length + 1)),
    '--outFile',
    'dist/kernels.wasm',
    '-O3',
    '--converge',
    '--noAssert',
    '--runtime',
    'stub',
    '--use',
    'abort=',
    '--enable',
    'simd',
    '--enable',
    'threads',
    '--enable',
    'bulk-memory',
    '--importMemory',
    '--sharedMemory',
    '--initialMemory',
    '1',
    '--maximumMemory',
    '65536',
  ])
}

buildKernels()
run(bin('typescript/bin/tsc'), ['-p', 'tsconfig.build.json'])
