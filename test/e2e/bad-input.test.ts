import { spawnSync } from 'node:child_process'
import {
  chmodSync,
  cpSync,
  existsSync,
  mkdirSync,
  openSync,
  readdirSync,
  readFileSync,
  rmSync,
  truncateSync,
  writeFileSync,
} from 'node:fs'
import { join } from 'node:path'
import { afterAll, beforeAll, beforeEach, describe, expect, it } from 'vitest'
import { mergeSchema } from '#jobs/schemas'
import { checksums, complaints, duskwork, filesIn, scratchFolder } from '../program.ts'

const { folder: scratch, remove } = scratchFolder('bad-input')
afterAll(remove)

let demo: string
beforeAll(async () => {
  demo = join(scratch, 'demo')
  expect((await duskwork(['demo', demo, '--scale', '0.1'])).code).toBe(0)
}, 120_000)

/** A fresh folder for each test, with a name that scripts stumble over. */
let folder: string
let tests = 0
beforeEach(() => {
  folder = join(scratch, `nuit à la « rivière » 夜 #${tests++} 100%`)
  mkdirSync(folder)
})

const name = (n: number) => `DUSK_${String(n).padStart(4, '0')}.DNG`
/** The seven frames of the demonstration's first bracket. */
const bracket = [2, 3, 4, 5, 6, 7, 8].map(name)
/** A frame of another size. */
const smaller = name(14)
const path = (...parts: string[]) => join(folder, ...parts)

function frames(names: readonly string[], into = '.') {
  mkdirSync(path(into), { recursive: true })
  for (const n of names) cpSync(join(demo, 'originals', n), path(into, n))
}

const anOuting = () => frames(bracket, 'originals')

/** The command fails with this code, and one line that names what it is about and says `words`; nothing is left behind. */
async function refused(
  args: readonly string[],
  code: number,
  about: string,
  words: RegExp,
  options: { uid?: number } = {},
): Promise<void> {
  const before = checksums(folder)
  const ended = await duskwork(args, options)
  const said = complaints(ended.err)
  expect([ended.code, ended.out], ended.err).toEqual([code, ''])
  expect(said.length).toBe(1)
  expect(said[0]).toContain(about)
  expect(said[0]).toMatch(words)
  expect(ended.err).not.toMatch(/^\s+at /m)
  expect(filesIn(folder).filter((f) => f.endsWith('.part'))).toEqual([])
  expect(checksums(folder)).toMatchObject(before)
  console.log(said[0])
}

/** The command does its work, says with 1 that something was left out, and gives its document. */
async function fellShort(...args: string[]) {
  const { code, out, err } = await duskwork(['merge', ...args, '--json'])
  expect(code, err).toBe(1)
  expect(complaints(err)).toEqual([])
  return mergeSchema.parse(JSON.parse(out))
}

describe('a command line that is wrong', () => {
  it.each(['demo', 'inspect', 'group', 'merge', 'print'])('%s without arguments: 2, and what is missing', (verb) =>
    refused([verb], 2, 'missing required argument', /argument/),
  )

  it('names a bracket that is not there: 2, and those that are', async () => {
    anOuting()
    await refused(['merge', folder, '--only', '0009'], 2, folder, /no bracket 0009 here; there are 0001/)
  })

  it('names two folders: 2', async () => {
    mkdirSync(path('a'))
    mkdirSync(path('b'))
    await refused(['merge', path('a'), path('b')], 2, path('a'), /give one folder/)
  })
})

describe('nothing to work on', () => {
  it.each(['group', 'merge', 'print'])('%s of a folder that does not exist: 3', (verb) =>
    refused([verb, path('nowhere')], 3, path('nowhere'), /there is no such file or folder; check the path/),
  )

  it.each(['group', 'merge'])('%s of an empty folder, and of other files: 3, and what to give', async (verb) => {
    await refused([verb, folder], 3, folder, /no frames here; give a folder or files with DNG or JPEG pictures/)
    writeFileSync(path('notes.txt'), 'f/1.8')
    writeFileSync(path('flight.mp4'), Buffer.from('000000186674797069736f6d', 'hex'))
    await refused([verb, folder], 3, folder, /no frames here/)
    await refused(['merge', path('notes.txt')], 3, path('notes.txt'), /no frames here/)
  })

  it('print where nothing was merged: 3, and how to merge', () =>
    refused(['print', folder], 3, folder, /no radiance images here; merge first: duskwork merge/))

  it('merge of a folder with a single frame: 3, and what a bracket is; named, that frame is merged alone', async () => {
    frames([bracket[0]!])
    await refused(['merge', folder], 3, folder, /no brackets were found/)
    const { code, out } = await duskwork(['merge', path(bracket[0]!), '--json'])
    expect(code).toBe(0)
    expect(mergeSchema.parse(JSON.parse(out)).brackets[0]!.frames.length).toBe(1)
  })

  it.each([
    ['a text', 'the river at dusk', /not an OpenEXR file/],
    ['the head of an OpenEXR file', Buffer.from('762f310102000000', 'hex'), /OpenEXR file/],
    ['nothing', '', /OpenEXR file/],
  ])('print of %s named .exr: 3, by name', async (_, content, words) => {
    writeFileSync(path('a.exr'), content)
    await refused(['print', path('a.exr')], 3, path('a.exr'), words)
  })
})

describe('bad files among good ones', () => {
  it('of another size: left out by name, the rest is merged', async () => {
    frames([...bracket, smaller])
    const { brackets, leftOut } = await fellShort(...[...bracket, smaller].map((n) => path(n)))
    expect(leftOut).toMatchObject([
      { what: path(smaller), reason: 'differs-from-reference', facts: { size: '200×150', referenceSize: '400×300' } },
    ])
    expect(brackets[0]!.frames.filter((f) => f.used).length).toBe(7)
    const { out } = await duskwork(['merge', ...[...bracket, smaller].map((n) => path(n))])
    expect(out).toContain('it has 200×150 pixels where the bracket’s reference has 400×300')
  })

  it('cut off, empty, no picture at all, or gone: each left out by name, the rest is merged', async () => {
    frames(bracket)
    truncateSync(path(bracket[5]!), 60_000)
    truncateSync(path(bracket[6]!), 400)
    writeFileSync(path('EMPTY.DNG'), '')
    writeFileSync(path('text.dng'), 'dear diary')
    const { brackets, leftOut } = await fellShort(folder)
    expect(Object.fromEntries(leftOut.map((l) => [l.what.slice(folder.length + 1), l.reason]))).toEqual({
      [bracket[5]!]: 'file-cut-short',
      [bracket[6]!]: 'outside-file',
      'EMPTY.DNG': 'empty-file',
      'text.dng': 'not-a-picture',
    })
    expect(brackets[0]!.frames.filter((f) => f.used).length).toBe(5)
    expect(existsSync(brackets[0]!.radiance)).toBe(true)
    const loose = await fellShort(path(bracket[0]!), path('gone.DNG'))
    expect(loose.leftOut).toMatchObject([{ what: path('gone.DNG'), reason: 'not-found' }])
  })

  it('with damage that shows only when the samples are read: left out by name, the rest is merged', async () => {
    frames(bracket)
    const bytes = readFileSync(path(bracket[3]!))
    // In the second half lie the tiles; before them stands the small preview.
    bytes.fill(0xff, bytes.length >> 1, (bytes.length >> 1) + 2000)
    writeFileSync(path(bracket[3]!), bytes)
    const { brackets, leftOut } = await fellShort(folder)
    expect(leftOut.map((l) => l.what)).toEqual([path(bracket[3]!)])
    console.log(leftOut[0]!.reason)
    expect(brackets[0]!.frames.find((f) => f.file === path(bracket[3]!))).toMatchObject({ used: false })
    expect(brackets[0]!.frames.filter((f) => f.used).length).toBe(6)
  })

  it('and not one good: 3, with the first and why, and nothing written', async () => {
    frames(bracket)
    for (const n of bracket) truncateSync(path(n), 60_000)
    await refused(['merge', folder], 3, path(bracket[0]!), /the file is cut short: it has 60,000 bytes/)
    expect(existsSync(path('brackets'))).toBe(false)
  })

  it('a single file given by hand fails for its own reason: 3', async () => {
    writeFileSync(path('EMPTY.DNG'), '')
    await refused(['merge', path('EMPTY.DNG')], 3, path('EMPTY.DNG'), /the file is empty; copy it again/)
  })
})

describe('raw frames and camera JPEGs together', () => {
  const both = [9, 10, 11, 12, 13].flatMap((n) => [name(n), name(n).replace('DNG', 'JPG')])

  it('with companions the raw frames are merged, and the companions are no frames', async () => {
    frames(both)
    const { code, out } = await duskwork(['merge', folder, '--json'])
    const document = mergeSchema.parse(JSON.parse(out))
    expect([code, document.leftOut]).toEqual([0, []])
    expect(document.brackets.map((b) => [b.source, b.frames.length])).toEqual([['raw', 5]])
    expect(document.brackets[0]!.frames.every((f) => f.file.endsWith('.DNG'))).toBe(true)
  })

  it('JPEGs alone are merged and labelled as rendered, in words too', async () => {
    frames(both.filter((n) => n.endsWith('.JPG')))
    const { out } = await duskwork(['merge', folder, '--json'])
    const document = mergeSchema.parse(JSON.parse(out))
    expect(document.brackets.map((b) => [b.source, b.frames.length])).toEqual([['rendered', 5]])
    expect(JSON.parse(readFileSync(document.brackets[0]!.record, 'utf8')).source).toBe('rendered')
    expect((await duskwork(['merge', folder])).out).toContain('made from finished pictures')
  })

  it('a JPEG of no raw frame, named beside raw frames, is left out by name', async () => {
    frames(both)
    const { brackets, leftOut } = await fellShort(path(name(9)), path(name(10)), path('DUSK_0011.JPG'))
    expect(leftOut).toMatchObject([{ what: path('DUSK_0011.JPG'), reason: 'rendered-beside-raw' }])
    expect(brackets[0]!.source).toBe('raw')
  })
})

describe('where results go', () => {
  it('frames named from an outing have theirs beside the originals, never among them; twice named is once used', async () => {
    anOuting()
    const before = checksums(path('originals'))
    const [a, b] = [path('originals', bracket[0]!), path('originals', bracket[1]!)]
    const { code, out } = await duskwork(['merge', a, b, a, '--json'])
    const [made] = mergeSchema.parse(JSON.parse(out)).brackets
    expect([code, made!.frames.length, made!.id]).toEqual([0, 2, 'DUSK_0002'])
    expect(made!.radiance).toBe(path('brackets', 'DUSK_0002', 'radiance.exr'))
    expect(checksums(path('originals'))).toEqual(before)
  })

  it('a file where the folder should be: 3, naming that file', async () => {
    anOuting()
    writeFileSync(path('brackets'), 'not a folder')
    await refused(['merge', folder], 3, path('brackets'), /this is not a folder/)
    await refused(['merge', folder, '--out', path('brackets', 'x')], 3, path('brackets'), /this is not a folder/)
  })

  it.skipIf(process.platform !== 'linux')('a place that takes no folders: 3, and soon (needs /proc)', async () => {
    anOuting()
    await refused(['merge', folder, '--out', '/proc/duskwork'], 3, '/proc/duskwork', /choose another place/)
  })

  it('a demonstration is not written over anything else: 3', async () => {
    anOuting()
    await refused(['demo', folder], 3, folder, /nothing is written over; choose a new or empty folder/)
  })

  const isRoot = process.getuid?.() === 0
  const nobody = 65534

  it.skipIf(!isRoot)('not readable or not writable for the user: by name (needs root, to run as another)', async () => {
    anOuting()
    for (const open of [scratch, folder]) chmodSync(open, 0o777)
    chmodSync(path('originals', bracket[0]!), 0o000)
    const { code, out } = await duskwork(['merge', folder, '--json'], { uid: nobody })
    expect(code).toBe(1)
    expect(mergeSchema.parse(JSON.parse(out)).leftOut).toMatchObject([{ reason: 'no-permission' }])
    chmodSync(folder, 0o755)
    const inFolder = path('brackets2')
    await refused(['merge', folder, '--out', inFolder], 3, folder, /permission is refused/, { uid: nobody })
    chmodSync(path('originals'), 0o000)
    await refused(['group', folder], 3, path('originals'), /permission is refused/, { uid: nobody })
    chmodSync(path('originals'), 0o755)
  })

  it.skipIf(!existsSync('/dev/full'))('standard output on a full disk: 3, in one line (needs /dev/full)', async () => {
    anOuting()
    const done = spawnSync(process.execPath, ['bin/duskwork', 'group', folder], {
      stdio: ['ignore', openSync('/dev/full', 'w'), 'pipe'],
      encoding: 'utf8',
    })
    expect(done.status).toBe(3)
    expect(complaints(done.stderr)).toEqual([
      'duskwork: standard output: the disk is full; make room, or choose another disk.',
    ])
  })
})

describe('a disk that fills up', () => {
  let mounted = ''
  afterAll(() => {
    if (mounted) spawnSync('umount', [mounted])
  })

  it('during a merge: 3, the old product whole, no temporary file (skipped in its body where mounting is refused)', async (context) => {
    const disk = path('small disk')
    mkdirSync(disk)
    const done = spawnSync('mount', ['-t', 'tmpfs', '-o', 'size=1m', 'tmpfs', disk])
    if (done.status !== 0) return context.skip('needs the right to mount a small disk')
    mounted = disk
    anOuting()
    mkdirSync(join(disk, '0001'))
    writeFileSync(join(disk, '0001', 'variance.exr'), 'the old one')
    await refused(['merge', folder, '--out', disk], 3, join(disk, '0001'), /the disk is full; make room/)
    expect(readdirSync(join(disk, '0001')).filter((n) => n.endsWith('.part'))).toEqual([])
    expect(readFileSync(join(disk, '0001', 'variance.exr'), 'utf8')).toBe('the old one')
  })
})

describe('an interrupt in the middle of a merge', () => {
  it.each(['Reading (', 'Aligning', 'Merging', 'Writing'])(
    'at "%s": 130, and every file is the old one or the new one whole',
    async (stage) => {
      rmSync(folder, { recursive: true })
      cpSync(demo, folder, { recursive: true })
      const whole = checksums(path('brackets'))
      const made = filesIn(path('brackets'))
      for (const file of made) writeFileSync(path('brackets', file), 'old')
      const old = checksums(path('brackets'))
      let seen = ''
      const ended = await duskwork(['merge', folder], {
        meet: (child) =>
          child.stderr!.on('data', (data) => {
            const asked = seen.includes(stage)
            seen += data
            if (!asked && seen.includes(stage)) child.kill('SIGINT')
          }),
      })
      expect([ended.code, ended.out], ended.err).toEqual([130, ''])
      expect(complaints(ended.err).length).toBe(1)
      const now = checksums(path('brackets'))
      expect(Object.keys(now)).toEqual(made)
      const replaced = made.filter((f) => now[f] !== old[f])
      console.log(`interrupted at ${stage}: ${replaced.length} of ${made.length} files are new`)
      for (const file of replaced) expect(now[file]).toBe(whole[file])
      expect(replaced.length).toBeLessThan(made.length)
    },
  )
})

describe('readers that leave early', () => {
  it('of progress do not stop the work: 0', async () => {
    anOuting()
    const { code, out } = await duskwork(['merge', folder, '--json'], { meet: (child) => child.stderr!.destroy() })
    expect(code).toBe(0)
    expect(mergeSchema.parse(JSON.parse(out)).brackets.length).toBe(1)
  })

  it('of the result are no failure either, and the products stand whole', async () => {
    anOuting()
    const { code, err } = await duskwork(['merge', folder, '--json'], { meet: (child) => child.stdout!.destroy() })
    expect([code, complaints(err)]).toEqual([0, []])
    expect(filesIn(path('brackets'))).toEqual(
      ['preview.jpg', 'radiance.exr', 'record.json', 'variance.exr'].map((n) => `0001/${n}`),
    )
  })
})
