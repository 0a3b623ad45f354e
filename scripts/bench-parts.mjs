// What the benches of whole jobs share: a made bracket, and a process timed with its largest memory.
import { spawn } from 'node:child_process'
import { mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { dirname, join } from 'node:path'
import { fileURLToPath } from 'node:url'

export const root = join(dirname(fileURLToPath(import.meta.url)), '..')

/** Seven raw files two thirds of a stop apart, from the simulator: 14 bits, black 1024, lossless JPEG tiles. */
async function makeBracket(directory, megapixels) {
  const { threadCrew } = await import(join(root, 'dist/apps/io/index.js'))
  const simulate = await import(join(root, 'dist/picture/simulate/index.js'))
  const { demoShoots } = await import(join(root, 'dist/jobs/demo-plan.js'))
  const town = demoShoots(simulate.lantern.sensor, 1).find((s) => s.plan.frames.length === 7)
  const scale = Math.sqrt(megapixels / 12.2)
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

export function timed(command, args) {
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

export const median = (list) => [...list].sort((a, b) => a - b)[list.length >> 1]
export const line = (name, runs) => {
  const s = runs.map((r) => r.seconds)
  console.log(
    `${name.padEnd(10)} ${median(s).toFixed(2)} s (${Math.min(...s).toFixed(2)} to ${Math.max(...s).toFixed(2)}), peak ${Math.max(...runs.map((r) => r.peak)).toFixed(0)} MB, ${s.length} runs`,
  )
}

/**
 * The raw files lj_0.dng … of `data`; without it a bracket of the demonstration town, made below `scratch` first. Ends the
 * process where there is none.
 */
export async function benchFiles(data, scratch, megapixels) {
  const directory = data ?? join(scratch, 'data')
  if (!data) {
    mkdirSync(directory)
    console.log('Making a bracket …')
    await makeBracket(directory, megapixels)
  }
  const names = readdirSync(directory).filter((f) => /^lj_\d+\.dng$/.test(f))
  if (names.length === 0) {
    console.error(`There is no lj_0.dng … in ${directory}.`)
    process.exit(2)
  }
  return { directory, files: names.sort().map((f) => join(directory, f)) }
}

/** A folder of this run's own, gone when the process ends. */
export function benchFolder() {
  const folder = mkdtempSync(join(tmpdir(), 'duskwork-bench-'))
  process.on('exit', () => rmSync(folder, { recursive: true, force: true }))
  return folder
}
