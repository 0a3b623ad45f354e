// Builds what runs: TypeScript to dist/, kernels to dist/kernels.wasm, and of the modules in dist/ the few files that
// start fast. Only npm packages are needed.
import { spawnSync } from 'node:child_process'
import { createHash } from 'node:crypto'
import { existsSync, mkdirSync, readdirSync, readFileSync, rmSync, statSync, writeFileSync } from 'node:fs'
import { dirname, join } from 'node:path'
import { fileURLToPath } from 'node:url'
import { rolldown } from 'rolldown'

const root = join(dirname(fileURLToPath(import.meta.url)), '..')
const bin = (name) => join(root, 'node_modules', name)

function run(file, args) {
  const done = spawnSync(process.execPath, [file, ...args], { cwd: root, stdio: 'inherit' })
  return done.status ?? 1
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
  const all = kernelSources()
  // What lies beside the folders is imported by kernels and has no export of its own.
  const sources = all.filter((s) => dirname(s) !== join(root, 'src/core/kernels'))
  const out = join(root, 'dist/kernels.wasm')
  mkdirSync(dirname(out), { recursive: true })
  const newest = Math.max(...all.map((s) => statSync(s).mtimeMs), statSync(fileURLToPath(import.meta.url)).mtimeMs)
  if (existsSync(out) && statSync(out).mtimeMs > newest) return
  // stub runtime, no abort, imported shared memory: a kernel owns no memory and no state (see docs/architecture.md).
  const status = run(bin('assemblyscript/bin/asc.js'), [
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
  if (status !== 0) process.exit(status)
}

/**
 * Some 180 small modules take Node longer to find and link than a 12-megapixel bracket takes to merge, and every worker
 * thread does it again (docs/decisions/0006-start-up.md). What is imported with import() stays a file of its own.
 */
async function bundle() {
  const bundled = await rolldown({
    cwd: root,
    input: { main: 'dist/apps/cli/main.js', worker: 'dist/apps/io/worker.js' },
    // A native library, which finds its parts beside its own files.
    external: ['sharp'],
    platform: 'node',
    logLevel: 'warn',
  })
  // As deep below dist/ as the modules are, because kernels and worker are found from import.meta.url.
  await bundled.write({ dir: 'dist/apps/bundle', chunkFileNames: '[name].js' })
  await bundled.close()
}

/**
 * The page: one file for the first screen, others for what is opened later, and its style. Names carry a digest of what is
 * in them, so that a browser may keep them for ever.
 */
async function buildPage() {
  const out = join(root, 'dist/web')
  rmSync(out, { recursive: true, force: true })
  mkdirSync(out, { recursive: true })
  const bundled = await rolldown({
    cwd: root,
    input: { page: 'src/apps/web/main.tsx' },
    platform: 'browser',
    resolve: { conditionNames: ['duskwork-source', 'browser', 'import', 'default'] },
    transform: {
      define: { 'process.env.NODE_ENV': '"production"' },
      jsx: { runtime: 'automatic', development: false },
    },
    logLevel: 'warn',
  })
  const { output } = await bundled.write({
    dir: 'dist/web',
    entryFileNames: '[name]-[hash].js',
    chunkFileNames: '[name]-[hash].js',
    minify: true,
  })
  await bundled.close()
  const style = readdirSync(join(root, 'src/apps/web'))
    .filter((name) => name.endsWith('.css'))
    .sort()
    .map((name) => readFileSync(join(root, 'src/apps/web', name), 'utf8'))
    .join('\n')
  const styleName = `page-${createHash('sha256').update(style).digest('hex').slice(0, 8)}.css`
  writeFileSync(join(out, styleName), style)
  const entry = output.find((o) => o.type === 'chunk' && o.isEntry).fileName
  const html = readFileSync(join(root, 'src/apps/web/index.html'), 'utf8')
  writeFileSync(join(out, 'index.html'), html.replace('{{script}}', entry).replace('{{style}}', styleName))
}

buildKernels()
const typed = run(bin('typescript/bin/tsc'), ['-p', 'tsconfig.build.json'])
// A type error fails the build, but what runs is what was written.
await bundle()
await buildPage()
process.exitCode = typed
