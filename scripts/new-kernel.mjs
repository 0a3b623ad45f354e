// Lays the four files of a kernel and adds it to the table: npm run new-kernel NAME
import { spawnSync } from 'node:child_process'
import { existsSync, mkdirSync, readFileSync, writeFileSync } from 'node:fs'
import { dirname, join } from 'node:path'
import { fileURLToPath } from 'node:url'

const root = join(dirname(fileURLToPath(import.meta.url)), '..')
const name = process.argv[2]
if (!name || !/^[a-z][a-z0-9]*(-[a-z0-9]+)*$/.test(name)) {
  console.error('Usage: npm run new-kernel NAME   (small letters, digits and single hyphens, for instance row-sum)')
  process.exit(2)
}
const folder = join(root, 'src/core/kernels', name)
if (existsSync(folder)) {
  console.error(`${folder} stands already.`)
  process.exit(2)
}
const camel = name.replace(/-(.)/g, (_, c) => c.toUpperCase())
const Pascal = camel[0].toUpperCase() + camel.slice(1)

// A kernel that works as laid: it doubles floats. Replace the formula, keep the form.
const files = {
  [`${name}.ts`]: `import type { Address, Memory } from '../arena.ts'

/**
 * out = 2·in, single precision.
 * Source: say here what defines right: author, year, page or clause; units; domain and range.
 */
export interface ${Pascal}Kernel {
  /** n floats at \`src\` → n floats at \`dst\`; n ≥ 0; the vectors may run 16 bytes past either end. */
  ${camel}(src: Address, dst: Address, n: number): void
}

/** The definition of right: plain, readable, and what runs where the fast form cannot. */
export function plain${Pascal}(memory: Memory): ${Pascal}Kernel {
  return {
    ${camel}(src, dst, n) {
      const from = memory.f32(src, n)
      const to = memory.f32(dst, n)
      for (let i = 0; i < n; i++) to[i] = 2 * from[i]!
    },
  }
}
`,
  [`${name}.kernel.ts`]: `// AssemblyScript with SIMD: the fast twin of ${name}.ts. No managed objects, no static arrays, no exceptions.

export function ${camel}(src: usize, dst: usize, n: i32): void {
  for (let i = 0; i < n; i += 4) {
    v128.store(dst, f32x4.mul(v128.load(src), f32x4.splat(2)))
    src += 16
    dst += 16
  }
}
`,
  [`${name}.test.ts`]: `import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { bothKernels } from '../../../../test/kernels.ts'

describe('${name}', () => {
  it('doubles: one gives two (replace by values from outside, with their source)', () => {
    const { memory, plain } = bothKernels(1 << 20)
    memory.f32(1024, 1).set([1])
    plain.${camel}(1024, 4096, 1)
    expect(memory.f32(4096, 1)[0]).toBe(2)
  })

  it('is bit for bit the same from the fast kernel', () => {
    const { memory, plain, simd } = bothKernels(1 << 20)
    fc.assert(
      fc.property(fc.array(fc.float({ noNaN: true }), { minLength: 1, maxLength: 200 }), (values) => {
        memory.f32(1024, values.length).set(values)
        plain.${camel}(1024, 16384, values.length)
        simd.${camel}(1024, 32768, values.length)
        expect([...memory.u32(32768, values.length)]).toEqual([...memory.u32(16384, values.length)])
      }),
    )
  })
})
`,
  [`${name}.bench.ts`]: `import { bothKernels } from '../../../../test/kernels.ts'

const PIXELS = 12_000_000
const { simd, plain } = bothKernels(2 * 4 * PIXELS + (1 << 20))
for (const [kind, kernels] of Object.entries({ plain, simd })) {
  const times: number[] = []
  for (let round = 0; round < 7; round++) {
    const start = performance.now()
    kernels.${camel}(1024, 1024 + 4 * PIXELS + 64, PIXELS)
    times.push(performance.now() - start)
  }
  const best = Math.min(...times)
  console.log(\`${name} \${kind}: \${(PIXELS / 1000 / best).toFixed(0)} Mpx/s (best of \${times.length}: \${best.toFixed(1)} ms)\`)
}
`,
}
mkdirSync(folder)
for (const [file, text] of Object.entries(files)) writeFileSync(join(folder, file), text)

const tablePath = join(root, 'src/core/kernels/table.ts')
writeFileSync(tablePath, withKernel(readFileSync(tablePath, 'utf8')))
// Sorted imports and line lengths are the formatter's business.
spawnSync(
  process.execPath,
  [join(root, 'node_modules/@biomejs/biome/bin/biome'), 'check', '--write', folder, tablePath],
  {
    cwd: root,
    stdio: 'ignore',
  },
)
console.log(`Laid ${Object.keys(files).join(', ')} in src/core/kernels/${name} and added it to table.ts.`)
console.log(`Next: npm run build && npx vitest run src/core/kernels/${name}`)

/** The table with one more kernel: an import, a base of the interface, a spread. */
function withKernel(table) {
  const importLine = `import { plain${Pascal}, type ${Pascal}Kernel } from './${name}/${name}.ts'\n`
  const lastImport = table.lastIndexOf('\nimport ') + 1
  const endOfImports = table.indexOf('\n', table.indexOf(' from ', lastImport)) + 1
  const withImport = table.slice(0, endOfImports) + importLine + table.slice(endOfImports)
  const withBase = withImport.replace(/(export interface Kernels\s+extends\s+[^{]*?),?\s*\{/, `$1, ${Pascal}Kernel {`)
  const withSpread = withBase.replace(/\n\}\)/, `\n  ...plain${Pascal}(memory),\n})`)
  if (withBase === withImport || withSpread === withBase)
    throw new Error('table.ts has a form that this script does not know')
  return withSpread
}
