// A whole bracket, file to radiance image and JPEG print, in a process of its own; and, where DUSKWORK_NATIVE_BENCH names
// the binary of the native reference (decode, align, merge, tone by general-purpose native libraries; called as
// BINARY pipeB DIRECTORY lj 2 1), that one in turn with ours, so that the machine's moods fall on both.
//   npm run bench -- bracket [--data DIRECTORY] [--runs 5] [--megapixels 12] [--kernels simd]
// DIRECTORY holds lj_0.dng … lj_6.dng; without it a bracket of the demonstration town is made first (about a minute).
import { spawn } from 'node:child_process'
import { existsSync, mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { dirname, join } from 'node:path'
import { fileURLToPath } from 'node:url'
import { parseArgs } from 'node:util'

const root = join(dirname(fileURLToPath(import.meta.url)), '..')
const { values } = parseArgs({
  allowPositionals: true,
  options: {
    data: { type: 'string' },
    runs: { type: 'string', default: '5' },
    megapixels: { type: 'string', default: '12' },
    kernels: { type: 'string', default: 'simd' },
  },
})
const scratch = mkdtempSync(join(tmpdir(), 'duskwork-bench-'))
process.on('exit', () => rmSync(scratch, { recursive: true, force: true }))

/** Seven raw files two thirds of a stop apart, from the simulator: 14 bits, black 1024, lossless JPEG tiles. */
async function makeBracket(directory) {
  const { threadCrew } = await import(join(root, 'dist/apps/io/index.js'))
  const simulate = await import(join(root, 'dist/picture/simulate/index.js'))
  const { demoShoots } = await import(join(root, 'dist/jobs/demo-plan.js'))
  const town = demoShoots(simulate.lantern.sensor, 1).find((s) => s.plan.frames.length === 7)
  const scale = Math.sqrt(Number(values.megapixels) / 12.2)
  const [width, height] = [4032, 3024].map((n) => Math.round((n * scale) / 16) * 16)
  const drift = [
    [-6.1, 0.4],
    [-4.6, -5.6],
    [3.4, -6.3],
    [0, 0],
    [3.7, -6.8],
    [-6.8, 2.2],
    [1.6, 1.5],
  ]
  const sensor = {
    ...simulate.lantern.sensor,
    bitsPerSample: 14,
    black: [1024, 1024, 1024, 1024],
    white: 16383,
    fullWellElectrons: 15359,
    readNoiseElectrons: 4,
  }
  const plan = {
    scene: town.plan.scene,
    width,
    height,
    seed: 11,
    sensor,
    packing: { kind: 'lossless-jpeg', tile: 512 },
    frames: drift.map(([x, y], k) => {
      const ratio = 2 ** (((k - 3) * 2) / 3)
      return {
        statedSeconds: 0.25 * ratio,
        ratio,
        motion: { x, y, rotationDegrees: 0.002 * (k - 3) },
        camera: `2027-02-09T18:00:0${k}`,
        subSecond: 0,
      }
    }),
  }
  const crew = await threadCrew({ bytes: simulate.bracketBytes(plan), kernels: 'simd' })
  const master = await simulate.renderBracketMaster(crew, plan)
  for (let k = 0; k < plan.frames.length; k++) {
    const mark = crew.arena.mark()
    const { dng } = await simulate.takeFrame(crew, master, plan, k)
    writeFileSync(join(directory, `lj_${k}.dng`), dng)
    crew.arena.release(mark)
  }
  await crew.close()
}

/** Largest resident memory of a process and of no other, MB; 0 where the system does not tell. */
function peakOf(pid) {
  try {
    return Number(/VmHWM:\s+(\d+)/.exec(readFileSync(`/proc/${pid}/status`, 'utf8'))?.[1] ?? 0) / 1024
  } catch {
    return 0
  }
}

function timed(command, args) {
  return new Promise((resolve, reject) => {
    const start = performance.now()
    const child = spawn(command, args, { stdio: ['ignore', 'ignore', 'pipe'] })
    let peak = 0
    let complaint = ''
    child.stderr.on('data', (d) => {
      complaint += d
    })
    const watch = setInterval(() => {
      peak = Math.max(peak, peakOf(child.pid))
    }, 15)
    child.on('error', reject)
    child.on('close', (code) => {
      clearInterval(watch)
      if (code !== 0) reject(new Error(`${command} ended with ${code}: ${complaint}`))
      else resolve({ seconds: (performance.now() - start) / 1000, peak })
    })
  })
}

const median = (list) => [...list].sort((a, b) => a - b)[list.length >> 1]
const line = (name, runs) => {
  const s = runs.map((r) => r.seconds)
  console.log(
    `${name.padEnd(10)} ${median(s).toFixed(2)} s (${Math.min(...s).toFixed(2)} to ${Math.max(...s).toFixed(2)}), peak ${Math.max(...runs.map((r) => r.peak)).toFixed(0)} MB, ${s.length} runs`,
  )
}

const data = values.data ?? join(scratch, 'data')
if (!values.data) {
  mkdirSync(data)
  console.log('Making a bracket …')
  await makeBracket(data)
}
const files = readdirSync(data)
  .filter((f) => /^lj_\d+\.dng$/.test(f))
  .sort()
  .map((f) => join(data, f))
if (files.length === 0) {
  console.error(`There is no lj_0.dng … in ${data}.`)
  process.exit(2)
}
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
