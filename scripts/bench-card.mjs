// A whole card, files to verdicts, in a process of its own: read, SHA-256, decoding, every measure, small pictures, report.
//   npm run bench -- card [--data DIRECTORY] [--frames 500] [--runs 3] [--megapixels 12] [--kernels simd]
// DIRECTORY holds lj_0.dng … lj_6.dng; without it a bracket of the demonstration town is made first (about a minute). The
// card is that bracket again and again, each time a minute later; it was just written, so the disk is warm.
import { mkdirSync, readFileSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { parseArgs } from 'node:util'
import { benchFiles, benchFolder, median, root, timed } from './bench-parts.mjs'

const { values } = parseArgs({
  allowPositionals: true,
  options: {
    data: { type: 'string' },
    frames: { type: 'string', default: '500' },
    runs: { type: 'string', default: '3' },
    megapixels: { type: 'string', default: '12' },
    kernels: { type: 'string', default: 'simd' },
  },
})
const scratch = benchFolder()
const { files } = await benchFiles(values.data, scratch, Number(values.megapixels))
const frames = files.map((f) => readFileSync(f))

/** The same file, taken so many minutes later: every Exif time in it that has this form. */
function later(bytes, minutes, seconds) {
  const copy = Buffer.from(bytes)
  const time = new Date(Date.UTC(2027, 1, 9, 17, minutes, seconds)).toISOString()
  const text = `${time.slice(0, 10).replaceAll('-', ':')} ${time.slice(11, 19)}`
  for (const stamp of bytes.toString('latin1').matchAll(/\d{4}:\d\d:\d\d \d\d:\d\d:\d\d\0/g))
    copy.write(text, stamp.index, 'latin1')
  return copy
}

const outing = join(scratch, 'outing')
mkdirSync(join(outing, 'originals'), { recursive: true })
let bytes = 0
for (let i = 0; i < Number(values.frames); i++) {
  const k = i % frames.length
  const file = later(frames[k], Math.floor(i / frames.length), 3 * k)
  bytes += file.length
  writeFileSync(join(outing, 'originals', `DUSK_${String(i + 1).padStart(4, '0')}.DNG`), file)
}
console.log(`${values.frames} frames, ${(bytes / 1e6).toFixed(0)} MB`)

const runs = []
for (let i = 0; i < Number(values.runs); i++)
  runs.push(await timed(process.execPath, [join(root, 'bin/duskwork'), 'check', outing, '--kernels', values.kernels]))
const seconds = runs.map((r) => r.seconds)
const rate = (s) => bytes / 1e6 / s
console.log(
  `card       ${median(seconds).toFixed(1)} s (${Math.min(...seconds).toFixed(1)} to ${Math.max(...seconds).toFixed(1)}): ` +
    `${rate(median(seconds)).toFixed(0)} MB/s (${rate(Math.max(...seconds)).toFixed(0)} to ${rate(Math.min(...seconds)).toFixed(0)}), ` +
    `peak ${Math.max(...runs.map((r) => r.peak)).toFixed(0)} MB, ${runs.length} runs`,
)
