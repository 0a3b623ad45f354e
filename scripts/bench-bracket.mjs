// A whole bracket, file to radiance image and JPEG print, in a process of its own; and, where DUSKWORK_NATIVE_BENCH names
// the binary of the native reference (decode, align, merge, tone by general-purpose native libraries; called as
// BINARY pipeB DIRECTORY lj 2 1), that one in turn with ours, so that the machine's moods fall on both.
//   npm run bench -- bracket [--data DIRECTORY] [--runs 5] [--megapixels 12] [--kernels simd]
// DIRECTORY holds lj_0.dng … lj_6.dng; without it a bracket of the demonstration town is made first (about a minute).
import { existsSync } from 'node:fs'
import { join } from 'node:path'
import { parseArgs } from 'node:util'
import { benchFiles, benchFolder, line, median, root, timed } from './bench-parts.mjs'

const { values } = parseArgs({
  allowPositionals: true,
  options: {
    data: { type: 'string' },
    runs: { type: 'string', default: '5' },
    megapixels: { type: 'string', default: '12' },
    kernels: { type: 'string', default: 'simd' },
  },
})
const scratch = benchFolder()
const { directory: data, files } = await benchFiles(values.data, scratch, Number(values.megapixels))
const native = process.env.DUSKWORK_NATIVE_BENCH
if (native && !existsSync(native)) {
  console.error(`DUSKWORK_NATIVE_BENCH names ${native}, which is not there.`)
  process.exit(2)
}
const ours = () =>
  timed(process.execPath, [
    join(root, 'bin/duskwork'),
    'merge',
    ...files,
    '--out',
    join(scratch, 'brackets'),
    '--print',
    '--kernels',
    values.kernels,
  ])
const theirs = () => timed(native, ['pipeB', data, 'lj', '2', '1'])
await ours()
if (native) await theirs()
const a = []
const b = []
for (let i = 0; i < Number(values.runs); i++) {
  a.push(await ours())
  if (native) b.push(await theirs())
}
line('duskwork', a)
if (native) {
  line('native', b)
  console.log(
    `ratio      ${median(a.map((r, i) => r.seconds / b[i].seconds)).toFixed(2)} (pair by pair: ${a.map((r, i) => (r.seconds / b[i].seconds).toFixed(2)).join(', ')})`,
  )
} else console.log('Name the native reference by DUSKWORK_NATIVE_BENCH to have both in turn.')
