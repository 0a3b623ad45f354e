import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { createFiles } from '#apps/io'
import { groupSchema } from '#jobs/schemas'
import { run } from './run.ts'
import type { Machine } from './session.ts'

let folder: string
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'duskwork-cli-'))
})
afterEach(() => rmSync(folder, { recursive: true, force: true }))

/** The command line in this process, over real files and no pixels. */
async function duskwork(...argv: string[]) {
  let out = ''
  let err = ''
  const machine: Machine = {
    terminal: {
      out: { write: (text) => (out += text) },
      err: { write: (text) => (err += text) },
      onInterrupt: () => () => {},
    },
    version: '1.2.3',
    createHost: (options) => ({
      files: createFiles(),
      get codec(): never {
        throw new Error('no codec in this test')
      },
      crew: () => Promise.reject(new Error('no crew in this test')),
      md5: () => '',
      sha256: () => '',
      seconds: () => 0,
      progress: options.onProgress,
      throwIfStopped() {},
      version: '1.2.3',
    }),
    removeUnfinishedFiles() {},
  }
  const code = await run(argv, machine)
  return { code, out, err }
}

describe('the command line', () => {
  it('without a verb shows what is possible and counts it as wrong usage', async () => {
    const { code, out, err } = await duskwork()
    expect([code, out]).toEqual([2, ''])
    expect(err).toContain('group')
  })

  it('answers --help and --version on standard output with exit code 0', async () => {
    expect(await duskwork('--version')).toEqual({ code: 0, out: '1.2.3\n', err: '' })
    const help = await duskwork('group', '--help')
    expect(help.code).toBe(0)
    expect(help.out).toMatch(/Example:\n {2}duskwork group demo-outing/)
  })

  it('meets an unknown verb or option with exit code 2 and a hint', async () => {
    const verb = await duskwork('grup', folder)
    expect(verb.code).toBe(2)
    expect(verb.err).toMatch(/Did you mean group/)
    const option = await duskwork('group', folder, '--jsn')
    expect(option.code).toBe(2)
    expect(option.err).toMatch(/Did you mean --json/)
    expect((await duskwork('group')).code).toBe(2)
    expect((await duskwork('group', folder, '--kernels', 'fast')).code).toBe(2)
  })

  it('says wrong usage as one JSON document too, when asked for JSON', async () => {
    const { code, out } = await duskwork('group', folder, '--json', '--what')
    expect(code).toBe(2)
    expect(JSON.parse(out)).toMatchObject({ schema: 'failure/1', failure: { kind: 'usage' }, leftOut: [] })
  })
})

describe('the verb group', () => {
  it('on a missing, a plain-file or an empty folder names it, with exit code 3 and one JSON document', async () => {
    const missing = join(folder, 'nowhere')
    expect(await duskwork('group', missing)).toEqual({
      code: 3,
      out: '',
      err: `duskwork: ${missing}: there is no such file or folder; check the path.\n`,
    })
    writeFileSync(join(folder, 'file'), 'x')
    expect((await duskwork('group', join(folder, 'file'))).code).toBe(3)
    mkdirSync(join(folder, 'empty'))
    const { code, out, err } = await duskwork('group', join(folder, 'empty'), '--json')
    expect(code).toBe(3)
    expect(err).toContain('no frames here')
    expect(JSON.parse(out)).toMatchObject({ schema: 'failure/1', failure: { code: 'no-frames' } })
  })

  it('refuses a folder in which nothing can be read, naming the first file and why', async () => {
    writeFileSync(join(folder, 'A.DNG'), '')
    writeFileSync(join(folder, 'B.JPG'), 'not a picture at all')
    const { code, err } = await duskwork('group', folder)
    expect(code).toBe(3)
    expect(err).toContain('A.DNG')
    expect(err).toContain('the file is empty')
  })

  it('groups what can be read, lists what cannot, and says with exit code 1 that something was left out', async () => {
    writeFileSync(join(folder, 'A.DNG'), '')
    writeFileSync(join(folder, 'flight.log'), 'text')
    for (const name of ['B.JPG', 'C.JPG']) writeFileSync(join(folder, name), bareJpeg)
    const { code, out, err } = await duskwork('group', folder, '--json')
    const document = groupSchema.parse(JSON.parse(out))
    expect(code).toBe(1)
    expect(document.singles.map((f) => f.file)).toEqual([join(folder, 'B.JPG'), join(folder, 'C.JPG')])
    expect(document.leftOut.map((l) => [l.what, l.reason])).toEqual([
      [join(folder, 'A.DNG'), 'empty-file'],
      [join(folder, 'flight.log'), 'not-a-still'],
    ])
    expect(err).toContain('Reading frames')
    const words = await duskwork('group', folder)
    expect(words.out).toContain('2 frames: 0 brackets, 2 single frames.')
    expect(words.out).toContain('1 other file (no still pictures)')
  })

  it('counts one frame as a single, not as a failure', async () => {
    writeFileSync(join(folder, 'B.JPG'), bareJpeg)
    const { code, out } = await duskwork('group', folder)
    expect(code).toBe(0)
    expect(out).toContain('1 frame: 0 brackets, 1 single frame.')
  })
})

/** The least that says it is a JPEG of 16 × 8 pixels: start, frame header, scan header, end. */
const bareJpeg = Buffer.from('ffd8ffc0000b080008001001011100ffda0008010100003f00ffd9', 'hex')
