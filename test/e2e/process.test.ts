import { mkdirSync, mkdtempSync, readdirSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { duskwork } from '../program.ts'

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

describe('the built program', () => {
  it('prints one JSON document on standard output and its progress elsewhere', async () => {
    outingOf(3)
    const { code, out, err } = await duskwork(['group', folder, '--json'])
    expect(code).toBe(0)
    expect(JSON.parse(out)).toMatchObject({ schema: 'group/1', frames: 3 })
    expect(err).toBe('Reading frames (3)\n')
  })

  it('stops on an interrupt with 130, says that the disk is whole, and leaves nothing half written', async () => {
    outingOf(15_000)
    const { code, out, err } = await duskwork(['group', folder], {
      meet: (child) => child.stderr!.once('data', () => child.kill('SIGINT')),
    })
    expect([code, out]).toEqual([130, ''])
    expect(err).toContain('What is on disk is whole.')
    expect(readdirSync(folder)).toEqual(['originals'])
  })

  it('says nothing when the reader of its output leaves early', async () => {
    outingOf(4000)
    const { code, err } = await duskwork(['group', folder, '--json'], {
      meet: (child) => child.stdout!.destroy(),
    })
    expect(code).toBe(0)
    expect(err).not.toMatch(/EPIPE|at .*:\d+/)
  })

  it('names the file when it cannot write, with 3 and no temporary file', async () => {
    outingOf(1)
    mkdirSync(join(folder, 'frames.json', 'inside'), { recursive: true })
    const { code, err } = await duskwork(['group', folder])
    expect(code).toBe(3)
    expect(err).toContain(join(folder, 'frames.json'))
    expect(readdirSync(folder).sort()).toEqual(['frames.json', 'originals'])
  })
})
