import { spawn } from 'node:child_process'
import { mkdirSync, mkdtempSync, readdirSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { dirname, join } from 'node:path'
import { fileURLToPath } from 'node:url'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'

const duskwork = join(dirname(fileURLToPath(import.meta.url)), '../../bin/duskwork')
/** The least that says it is a JPEG of 16 × 8 pixels. */
const bareJpeg = Buffer.from('ffd8ffc0000b080008001001011100ffda0008010100003f00ffd9', 'hex')

let folder: string
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'duskwork-process-'))
})
afterEach(() => rmSync(folder, { recursive: true, force: true }))

function outingOf(frames: number) {
  mkdirSync(join(folder, 'originals'))
  for (let i = 0; i < frames; i++)
    writeFileSync(join(folder, 'originals', `IMG_${String(i).padStart(5, '0')}.JPG`), bareJpeg)
}

/** The built program as a shell would run it. `meet` sees it running. */
function started(args: string[], meet: (child: ReturnType<typeof spawn>) => void = () => {}) {
  return new Promise<{ code: number | null; out: string; err: string }>((resolve) => {
    const child = spawn(process.execPath, [duskwork, ...args], { stdio: ['ignore', 'pipe', 'pipe'] })
    let out = ''
    let err = ''
    child.stdout.on('data', (data) => (out += data))
    child.stderr.on('data', (data) => (err += data))
    child.on('close', (code) => resolve({ code, out, err }))
    meet(child)
  })
}

describe('the built program', () => {
  it('prints one JSON document on standard output and its progress elsewhere', async () => {
    outingOf(3)
    const { code, out, err } = await started(['group', folder, '--json'])
    expect(code).toBe(0)
    expect(JSON.parse(out)).toMatchObject({ schema: 'group/1', frames: 3 })
    expect(err).toBe('Reading frames (3)\n')
  })

  it('stops on an interrupt with 130, says that the disk is whole, and leaves nothing half written', async () => {
    outingOf(15_000)
    const { code, out, err } = await started(['group', folder], (child) => {
      child.stderr!.once('data', () => child.kill('SIGINT'))
    })
    expect([code, out]).toEqual([130, ''])
    expect(err).toContain('What is on disk is whole.')
    expect(readdirSync(folder)).toEqual(['originals'])
  })

  it('says nothing when the reader of its output leaves early', async () => {
    outingOf(4000)
    const { code, err } = await started(['group', folder, '--json'], (child) => child.stdout!.destroy())
    expect(code).toBe(0)
    expect(err).not.toMatch(/EPIPE|at .*:\d+/)
  })

  it('names the file when it cannot write, with 3 and no temporary file', async () => {
    outingOf(1)
    mkdirSync(join(folder, 'frames.json', 'inside'), { recursive: true })
    const { code, err } = await started(['group', folder])
    expect(code).toBe(3)
    expect(err).toContain(join(folder, 'frames.json'))
    expect(readdirSync(folder).sort()).toEqual(['frames.json', 'originals'])
  })
})
