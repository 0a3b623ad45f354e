import {
  appendFileSync,
  existsSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  renameSync,
  rmSync,
  symlinkSync,
  truncateSync,
  utimesSync,
  writeFileSync,
} from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import fc from 'fast-check'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { Failure } from '#core/base'
import { copy } from '#jobs'
import { COPYING_FOLDER, type CopyDocument } from '#jobs/contract'
import { copyManifestSchema, copySchema } from '#jobs/schemas'
import { checksumsHold, copiesIn, noise, stateOf, sumsIn, writeCard } from '../card.ts'
import { copyingHost, type Faults, ioError } from '../faulty-disk.ts'

let root: string
let card: string
let outing: string
let second: string
beforeEach(() => {
  root = mkdtempSync(join(tmpdir(), 'duskwork-copy-'))
  card = join(root, 'card')
  outing = join(root, 'outing')
  second = join(root, 'second')
})
afterEach(() => rmSync(root, { recursive: true, force: true }))

/** Three parts long, so that a fault has a middle to happen in. */
const LONG = 5_000_000
const raw = (n: number) => `DCIM/100/DUSK_000${n}.DNG`
const cardOf = (n: number) => {
  const files: Record<string, Buffer> = {}
  for (let i = 1; i <= n; i++) files[raw(i)] = noise(LONG + i, i)
  writeCard(card, files)
}

/** A run, its document held against the schema; the card is as it was, and nothing unfinished stands about. */
async function run(faults: Faults = {}, also: string[] = [], stopAfter?: number): Promise<CopyDocument> {
  const before = existsSync(card) ? stateOf(card) : []
  const { host } = copyingHost(faults, stopAfter)
  const document = copySchema.parse(await copy(host, card, outing, { also }))
  if (existsSync(card) && !faults.onCardRead) expect(stateOf(card)).toEqual(before)
  for (const folder of [outing, ...also]) {
    expect(existsSync(join(folder, COPYING_FOLDER))).toBe(false)
    copyManifestSchema.parse(JSON.parse(readFileSync(join(folder, 'copy.json'), 'utf8')))
  }
  return document
}

const failuresOf = ({ failed }: CopyDocument) => failed.map(({ file, reason }) => [file, reason])

/** The next run, without faults, ends well, and every copy is the card's file. */
async function thenAllIsWell(also: string[] = []): Promise<CopyDocument> {
  const document = await run({}, also)
  expect(document).toMatchObject({ safeToWipe: true, failed: [] })
  const wanted = Object.values(sumsIn(card)).sort()
  for (const folder of [outing, ...also]) {
    expect([...new Set(Object.values(copiesIn(folder)))].sort()).toEqual([...new Set(wanted)])
    checksumsHold(folder)
  }
  return document
}

const codeOf = (work: Promise<unknown>) =>
  work.then(
    () => 'none',
    (e: unknown) => (e instanceof Failure ? `${e.kind} ${e.code}` : String(e)),
  )

describe('a copy without mishap', () => {
  it('has every file on every target with the card’s sum and date, and says so', async () => {
    cardOf(3)
    writeCard(card, { 'MISC/log.txt': 'log', '.DS_Store': 'x', 'DCIM/Thumbs.db': 'x', '.Trashes/old.DNG': 'x' })
    const document = await run({}, [second])
    const all = sumsIn(card)
    for (const name of ['.DS_Store', 'DCIM/Thumbs.db', '.Trashes/old.DNG']) delete all[name]
    expect(document).toMatchObject({ files: 4, copied: 4, recognised: 0, failed: [], safeToWipe: true })
    expect(document.bytes).toBe(3 * LONG + 6 + 3)
    expect(document.targets.map((t) => [t.path, t.verified])).toEqual([
      [join(outing, 'originals'), 4],
      [join(second, 'originals'), 4],
    ])
    expect(document.leftOut.map((l) => [l.what, l.reason]).sort()).toEqual([
      ['.DS_Store', 'system-file'],
      ['.Trashes', 'system-file'],
      ['DCIM/Thumbs.db', 'system-file'],
    ])
    for (const folder of [outing, second]) {
      expect(copiesIn(folder)).toEqual(all)
      expect(checksumsHold(folder)).toBe(4)
      const dates = (lines: string[]) => lines.filter((l) => l.includes('.DNG ')).map((l) => l.split(' ').slice(2))
      expect(dates(stateOf(join(folder, 'originals')))).toEqual(dates(stateOf(card)).filter((d) => Number(d[0]) > 1))
    }
  })

  it('done again writes nothing, recognises all, and reads all back', async () => {
    cardOf(3)
    await run()
    const before = stateOf(join(outing, 'originals'))
    expect(await run()).toMatchObject({ copied: 0, recognised: 3, bytesCopied: 0, safeToWipe: true })
    expect(stateOf(join(outing, 'originals'))).toEqual(before)
  })

  it('fills up a second target that has only some of it, reading dates of nothing', async () => {
    cardOf(3)
    await run()
    mkdirSync(join(second, 'originals'), { recursive: true })
    renameSync(join(outing, 'originals', raw(2)), join(second, 'originals', 'elsewhere.DNG'))
    utimesSync(join(outing, 'originals', raw(1)), 1, 1)
    expect(await run({}, [second])).toMatchObject({ copied: 3, recognised: 0, safeToWipe: true })
    expect(Object.keys(copiesIn(second)).sort()).toEqual([raw(1), raw(3), 'elsewhere.DNG'].sort())
    checksumsHold(second)
  })

  it('recognises a picture under another name, on the target and on the card itself', async () => {
    cardOf(2)
    writeCard(card, { 'DCIM/again.DNG': noise(LONG + 1, 1), 'DCIM/100/zz.DNG': noise(LONG + 2, 2) })
    const document = await run()
    expect(document).toMatchObject({ copied: 2, recognised: 2, safeToWipe: true })
    // Below another folder of the same card the paths are others.
    const { host } = copyingHost()
    expect(await copy(host, join(card, 'DCIM'), outing)).toMatchObject({ copied: 0, recognised: 4, safeToWipe: true })
    expect(Object.keys(copiesIn(outing)).length).toBe(2)
  })

  it('keeps sidecars that read the same, each beside its picture', async () => {
    writeCard(card, { 'a.xmp': 'same', 'b.xmp': 'same', 'c.txt': '', 'd.txt': '' })
    expect(await run()).toMatchObject({ copied: 4, safeToWipe: true })
    expect(Object.keys(copiesIn(outing))).toEqual(['a.xmp', 'b.xmp', 'c.txt', 'd.txt'])
  })

  it('keeps apart other pictures of the same name, and the pair that belongs together under one', async () => {
    writeCard(card, { 'D_1.DNG': noise(9000, 'a'), 'D_1.JPG': noise(100, 'b') })
    await run()
    rmSync(card, { recursive: true })
    writeCard(card, { 'D_1.DNG': noise(9000, 'c'), 'D_1.JPG': noise(200, 'd'), 'D_2.DNG': noise(10, 'e') })
    expect(await run()).toMatchObject({ copied: 3, safeToWipe: true })
    const names = ['D_1-2.DNG', 'D_1-2.JPG', 'D_1.DNG', 'D_1.JPG', 'D_2.DNG']
    expect(Object.keys(copiesIn(outing))).toEqual(names)
    expect(checksumsHold(outing)).toBe(5)
    expect(await run()).toMatchObject({ copied: 0, recognised: 3, safeToWipe: true })
    expect(Object.keys(copiesIn(outing))).toEqual(names)
  })

  it('shows where it is, and that it is done', async () => {
    cardOf(3)
    const { host, progress } = copyingHost()
    await copy(host, card, outing)
    expect(progress.at(-1)).toEqual({ stage: 'Megabytes copied', done: 15, total: 15 })
    expect(progress.map((p) => p.done)).toEqual(progress.map((p) => p.done).sort((a, b) => a - b))
    expect(progress.length).toBeGreaterThan(5)
  })
})

describe('a copy that meets a fault names the file, goes on with the rest and is not safe', () => {
  it('a read error in the middle of one file', async () => {
    cardOf(4)
    const document = await run({
      onCardRead(path, at) {
        if (path.endsWith('2.DNG') && at > 1_000_000) throw ioError('read-failed', path)
      },
    })
    expect(failuresOf(document)).toEqual([[raw(2), 'read-failed']])
    expect(document).toMatchObject({ copied: 3, safeToWipe: false })
    expect(document.failed[0]!.sentence).toMatch(/^DCIM\/100\/DUSK_0002.DNG: it cannot be read to its end \(EIO\); try/)
    expect(Object.keys(copiesIn(outing))).toEqual([raw(1), raw(3), raw(4)])
    expect(await thenAllIsWell()).toMatchObject({ copied: 1, recognised: 3 })
  })

  it('one bit flipped on its way to one of two copies, at any place: the other copy stands', async () => {
    cardOf(2)
    for (const at of [0, 2_500_000, LONG + 1]) {
      rmSync(outing, { recursive: true, force: true })
      rmSync(second, { recursive: true, force: true })
      let files = 0
      let flipped = false
      const onWrite = (path: string, from: number, part: Uint8Array) => {
        if (!path.startsWith(second) || path.endsWith('.json')) return part
        if (from === 0) files++
        const place = at - from
        if (files !== 2 || flipped || place < 0 || place >= part.length) return part
        flipped = true
        const changed = part.slice()
        changed[place]! ^= 1
        return changed
      }
      const document = await run({ onWrite }, [second])
      expect([flipped, failuresOf(document)]).toEqual([true, [[raw(2), 'copy-differs']]])
      expect(document.failed[0]!.target).toBe(join(second, 'originals'))
      expect(document).toMatchObject({ copied: 1, safeToWipe: false })
      expect(document.targets.map((t) => t.verified)).toEqual([2, 1])
      expect(Object.keys(copiesIn(second))).toEqual([raw(1)])
    }
    await thenAllIsWell([second])
  })

  it('a target that fills up: what fits is there, the other target has all', async () => {
    cardOf(4)
    const room = { folder: outing, bytes: 2 * LONG + 2_000_000, free: 1e12 }
    const document = await run({ room }, [second])
    expect(failuresOf(document)).toEqual([
      [raw(3), 'no-space'],
      [raw(4), 'no-space'],
    ])
    expect(document).toMatchObject({ copied: 2, safeToWipe: false })
    expect(document.targets.map((t) => t.verified)).toEqual([2, 4])
    await thenAllIsWell([second])
  })

  it('too little room from the start: nothing is written at all, and the sizes are told', async () => {
    cardOf(4)
    const { host } = copyingHost({ room: { folder: second, bytes: 1e12, free: 12_000_000 } })
    const error = await copy(host, card, outing, { also: [second] }).catch((e: unknown) => e)
    expect((error as Failure).toJSON()).toMatchObject({
      kind: 'io',
      code: 'too-little-space',
      facts: { path: second, freeBytes: 12_000_000, neededBytes: expect.any(Number) },
    })
    expect(Number((error as Failure).facts['neededBytes'])).toBeGreaterThanOrEqual(4 * LONG)
    expect(readdirSync(root)).toEqual(['card'])
  })

  it('room is asked for only for what is not there yet', async () => {
    cardOf(4)
    await run()
    writeCard(card, { 'new.DNG': noise(1000, 'new') })
    expect(await run({ room: { folder: outing, bytes: 1e12, free: 5_000_000 } })).toMatchObject({
      copied: 1,
      recognised: 4,
      safeToWipe: true,
    })
  })

  it('a card pulled in the middle of a file: the rest is named at once', async () => {
    cardOf(5)
    const away = join(root, 'away')
    const document = await run({
      onCardRead(path, at) {
        if (!path.endsWith('3.DNG') || at === 0) return
        if (existsSync(card)) renameSync(card, away)
        throw ioError('disk-gone', path, 'ENODEV')
      },
    })
    expect(failuresOf(document)).toEqual([
      [raw(3), 'disk-gone'],
      [raw(4), 'card-gone'],
      [raw(5), 'card-gone'],
    ])
    expect(document).toMatchObject({ copied: 2, safeToWipe: false })
    renameSync(away, card)
    expect(await thenAllIsWell()).toMatchObject({ copied: 3, recognised: 2 })
  })

  it.each([
    ['longer', (path: string) => appendFileSync(path, 'more')],
    ['shorter', (path: string) => truncateSync(path, LONG - 1000)],
    ['anew, in the same length', (path: string) => writeFileSync(path, noise(LONG + 2, 'other'))],
  ])('a file that is written %s while it is read', async (_, change) => {
    cardOf(3)
    let changed = false
    const document = await run({
      onCardRead(path, at) {
        if (!path.endsWith('2.DNG') || at === 0 || changed) return
        changed = true
        change(path)
      },
    })
    expect(failuresOf(document)).toEqual([[raw(2), 'still-written']])
    expect(document).toMatchObject({ copied: 2, safeToWipe: false })
    expect(Object.keys(copiesIn(outing))).toEqual([raw(1), raw(3)])
    await thenAllIsWell()
  })

  it('a file that grew between the list and its turn', async () => {
    cardOf(3)
    let changed = false
    const document = await run({
      onCardRead(path) {
        if (!changed && path.endsWith('1.DNG')) appendFileSync(join(card, raw(3)), 'more')
        changed = true
      },
    })
    expect(failuresOf(document)).toEqual([[raw(3), 'still-written']])
    await thenAllIsWell()
  })

  it('a file that comes to the card, and one that changes on it after its copy, while the rest is copied', async () => {
    cardOf(3)
    let done = false
    const document = await run({
      onCardRead(path) {
        if (done || !path.endsWith('3.DNG')) return
        done = true
        writeFileSync(join(card, 'DCIM', 'late.DNG'), 'late')
        appendFileSync(join(card, raw(1)), 'more')
      },
    })
    expect(failuresOf(document)).toEqual([
      [raw(1), 'changed-on-card'],
      ['DCIM/late.DNG', 'changed-on-card'],
    ])
    expect(document).toMatchObject({ copied: 2, safeToWipe: false })
    expect(JSON.parse(readFileSync(join(outing, 'copy.json'), 'utf8'))).toMatchObject({ safeToWipe: false })
    expect(await run()).toMatchObject({ copied: 2, recognised: 2, safeToWipe: true })
  })

  it('records that cannot be written on one target: nothing on the other says that all is safe', async () => {
    cardOf(1)
    const { host } = copyingHost({
      onMove: (_, to) => {
        if (to === join(second, 'checksums.sha256')) throw ioError('no-space', to, 'ENOSPC')
      },
    })
    const document = await copy(host, card, outing, { also: [second] })
    expect(failuresOf(document)).toEqual([['checksums.sha256', 'no-space']])
    expect(document).toMatchObject({ copied: 1, safeToWipe: false })
    expect(JSON.parse(readFileSync(join(outing, 'copy.json'), 'utf8'))).toMatchObject({ safeToWipe: false })
    await thenAllIsWell([second])
  })

  it('two targets on one disk: their bytes are asked for together', async () => {
    cardOf(4)
    const { host } = copyingHost({ room: { folder: root, bytes: 1e12, free: 30_000_000 } })
    expect(await codeOf(copy(host, card, outing, { also: [second] }))).toBe('io too-little-space')
    expect(await codeOf(copy(host, card, outing))).toBe('none')
  })

  it('a sync, a rename, a folder, an entry that fails', async () => {
    cardOf(3)
    writeCard(card, { 'closed/a.DNG': 'a', 'odd/b.DNG': 'b', 'odd/c.DNG': 'c' })
    let syncs = 0
    const document = await run({
      onSync: (path) => {
        if (++syncs === 1) throw ioError('write-failed', path)
      },
      onMove: (_, to) => {
        if (to.endsWith('2.DNG')) throw ioError('no-permission', to, 'EACCES')
      },
      onNames: (path) => {
        if (path.endsWith('closed')) throw ioError('no-permission', path, 'EACCES')
        return undefined
      },
      onLook: (path) => {
        if (path === join(card, 'odd/b.DNG')) throw ioError('read-failed', path)
      },
    })
    expect(failuresOf(document).sort()).toEqual([
      [raw(1), 'write-failed'],
      [raw(2), 'no-permission'],
      ['closed', 'no-permission'],
      ['odd/b.DNG', 'read-failed'],
    ])
    expect(document).toMatchObject({ copied: 2, safeToWipe: false })
    await thenAllIsWell()
  })

  it('a file that cannot be copied because a folder of its name is there gets the next number', async () => {
    cardOf(1)
    mkdirSync(join(outing, 'originals', raw(1)), { recursive: true })
    expect(await run()).toMatchObject({ copied: 1, safeToWipe: true })
    expect(Object.keys(copiesIn(outing))).toEqual(['DCIM/100/DUSK_0001-2.DNG'])
    expect(await run()).toMatchObject({ recognised: 1, safeToWipe: true })
  })

  it('an empty picture on the card: copied as it is, named, and the card is to be kept', async () => {
    writeCard(card, { 'a.DNG': '', 'b.DNG': 'b', 'c.xmp': '' })
    const document = await run()
    expect(document).toMatchObject({ copied: 3, failed: [], safeToWipe: false })
    expect(document.leftOut.map((l) => [l.what, l.reason])).toEqual([['a.DNG', 'empty-on-card']])
  })

  it('links on the card are listed and not followed; what they lead to is not copied', async () => {
    cardOf(1)
    writeFileSync(join(root, 'secret'), 'not on the card')
    symlinkSync(join(root, 'secret'), join(card, 'DCIM', 'a.DNG'))
    symlinkSync(root, join(card, 'DCIM', 'loop'))
    const document = await run()
    expect(document.leftOut.map((l) => [l.what, l.reason])).toEqual([
      ['DCIM/a.DNG', 'link-not-followed'],
      ['DCIM/loop', 'link-not-followed'],
    ])
    expect(Object.keys(copiesIn(outing))).toEqual([raw(1)])
  })
})

describe('a copy that is not any more what was copied', () => {
  it.each([
    ['a flipped bit in its middle', (path: string) => flip(path, 3_000_000)],
    ['a flipped bit at its start', (path: string) => flip(path, 10)],
    ['its end cut off', (path: string) => truncateSync(path, 1_234_567)],
    ['nothing in it', (path: string) => truncateSync(path, 0)],
    ['something added', (path: string) => appendFileSync(path, 'edited')],
  ])('with %s is set aside, kept, and copied again under its name', async (_, spoil) => {
    cardOf(2)
    await run()
    const path = join(outing, 'originals', raw(2))
    spoil(path)
    const spoilt = readFileSync(path)
    const document = await run()
    expect(document).toMatchObject({ copied: 1, recognised: 1, safeToWipe: true })
    expect(document.leftOut.map((l) => [l.what, l.reason.replace(/-\w+(-\w+)?$/, '')])).toEqual([[path, 'copy']])
    expect(readFileSync(join(outing, 'set-aside', raw(2))).equals(spoilt)).toBe(true)
    expect(copiesIn(outing)).toEqual(sumsIn(card))
    expect(checksumsHold(outing)).toBe(2)
  })

  it('whose record is lost is left where it is, and the new copy stands beside it', async () => {
    cardOf(1)
    await run()
    rmSync(join(outing, 'checksums.sha256'))
    flip(join(outing, 'originals', raw(1)), 3_000_000)
    expect(await run()).toMatchObject({ copied: 1, safeToWipe: true })
    expect(Object.keys(copiesIn(outing))).toEqual(['DCIM/100/DUSK_0001-2.DNG', raw(1)])
  })

  it('by a copy by hand that was cut off, is set aside without any record', async () => {
    cardOf(1)
    mkdirSync(join(outing, 'originals', 'DCIM', '100'), { recursive: true })
    writeFileSync(join(outing, 'originals', raw(1)), noise(LONG, 1).subarray(0, 400_000))
    expect(await run()).toMatchObject({ copied: 1, safeToWipe: true })
    expect(copiesIn(outing)).toEqual(sumsIn(card))
  })
})

describe('a stop', () => {
  it('at any moment leaves whole files, their sums, and nothing unfinished; the next run goes on', async () => {
    cardOf(3)
    const { host, asked } = copyingHost()
    await copy(host, card, outing, { also: [second] })
    const all = asked()
    let partly = 0
    for (let after = 1; after < all; after++) {
      rmSync(outing, { recursive: true, force: true })
      rmSync(second, { recursive: true, force: true })
      const stopped = copyingHost({}, after)
      expect(await codeOf(copy(stopped.host, card, outing, { also: [second] }))).toBe('aborted stopped')
      for (const folder of [outing, second]) {
        if (!existsSync(folder)) continue
        expect(existsSync(join(folder, COPYING_FOLDER))).toBe(false)
        const copies = copiesIn(folder)
        expect(sumsIn(card)).toMatchObject(copies)
        if (existsSync(join(folder, 'checksums.sha256'))) expect(checksumsHold(folder)).toBe(Object.keys(copies).length)
        if (Object.keys(copies).length > 0 && Object.keys(copies).length < 3) partly++
      }
    }
    console.log(`${all - 1} moments, ${partly} outings with a part of the card`)
    expect(partly).toBeGreaterThan(5)
    await thenAllIsWell([second])
  })
})

describe('a copy that cannot be asked for', () => {
  it('of nothing, of no folder, into itself or around itself, is refused and writes nothing', async () => {
    cardOf(1)
    mkdirSync(join(root, 'empty'))
    symlinkSync(card, join(root, 'link'))
    mkdirSync(join(root, 'sly'))
    symlinkSync(card, join(root, 'sly', 'originals'))
    writeFileSync(join(root, 'file'), '')
    const before = stateOf(root)
    const refusal = async (from: string, to: string, ...also: string[]) => {
      const { host } = copyingHost()
      return codeOf(copy(host, join(root, from), join(root, to), { also: also.map((a) => join(root, a)) }))
    }
    expect(await refusal('gone', 'outing')).toBe('io not-found')
    expect(await refusal('file', 'outing')).toBe('io not-a-folder')
    expect(await refusal('empty', 'outing')).toBe('malformed empty-card')
    expect(await refusal('card', 'file')).toBe('io not-a-folder')
    for (const [from, to, ...also] of [
      ['card', 'card'],
      ['card', 'card/new/outing'],
      ['card/DCIM', '.'],
      ['card', 'link'],
      ['link', 'card/DCIM'],
      ['card', 'sly'],
      ['card', 'outing', 'card/second'],
      ['card', 'outing', 'outing'],
      ['card', 'outing', 'outing/second'],
    ] as const)
      expect([from, to, await refusal(from, to, ...also)]).toEqual([from, to, 'usage copy-into-itself'])
    expect(stateOf(root)).toEqual(before)
  })

  it('into an outing whose record a later version wrote is refused, and the record left alone', async () => {
    cardOf(1)
    mkdirSync(outing)
    writeFileSync(join(outing, 'copy.json'), '{"schema":"copy-manifest/2"}')
    expect(await codeOf(copy(copyingHost().host, card, outing))).toBe('unsupported newer-document')
    expect(readdirSync(outing)).toEqual(['copy.json'])
  })
})

describe('whatever goes wrong', () => {
  it('the card is called safe only when every copy is what the card has, and the next run makes up for it', async () => {
    const name = fc.constantFrom('a.DNG', 'a.JPG', 'b/a.DNG', 'b/a.xmp', 'c.MP4', 'd', 'B.DNG', 'b/\\ \n.DNG')
    const content = fc.record({
      bytes: fc.constantFrom(0, 1, 70_000, 2_100_000),
      seed: fc.integer({ max: 2, min: 0 }),
    })
    const step = fc.record({ on: fc.constantFrom('read', 'write', 'flip', 'sync', 'move'), at: fc.nat(8) })
    const tally = { safe: 0, kept: 0, faults: 0 }
    await fc.assert(
      fc.asyncProperty(
        fc.dictionary(name, content, { minKeys: 1, noNullPrototype: true }),
        fc.dictionary(name, content, { noNullPrototype: true }),
        fc.array(step, { maxLength: 2 }),
        async (onCard, there, steps) => {
          rmSync(root, { recursive: true, force: true })
          const made = (files: typeof onCard) =>
            Object.fromEntries(Object.entries(files).map(([n, c]) => [n, noise(c.bytes, c.seed)]))
          writeCard(card, made(onCard))
          writeCard(join(outing, 'originals'), made(there))
          const mine = copiesIn(outing)
          const counts: Record<string, number> = {}
          const strikes = (on: string) => {
            const n = counts[on] ?? 0
            counts[on] = n + 1
            const hit = steps.some((s) => s.on === on && s.at === n)
            if (hit) tally.faults++
            return hit
          }
          const faults: Faults = {
            onCardRead: (path) => {
              if (strikes('read')) throw ioError('read-failed', path)
            },
            onWrite: (path, _, part) => {
              if (strikes('write')) throw ioError('write-failed', path)
              if (!strikes('flip') || part.length === 0) return part
              const changed = part.slice()
              changed[0]! ^= 128
              return changed
            },
            onSync: (path) => {
              if (strikes('sync')) throw ioError('no-space', path)
            },
            onMove: (_, to) => {
              if (strikes('move')) throw ioError('no-permission', to)
            },
          }
          const before = stateOf(card)
          const document = await copy(copyingHost(faults).host, card, outing)
          const all = Object.values(sumsIn(card))
          const held = () => new Set(Object.values(copiesIn(outing)))
          if (document.safeToWipe) {
            tally.safe++
            for (const sum of all) expect(held().has(sum)).toBe(true)
          } else tally.kept++
          const again = await run()
          const empty = Object.entries(onCard).some(([n, c]) => c.bytes === 0 && /\.(DNG|JPG|MP4)$/.test(n))
          expect([again.failed, again.safeToWipe]).toEqual([[], !empty])
          for (const sum of all) expect(held().has(sum)).toBe(true)
          checksumsHold(outing)
          expect(stateOf(card)).toEqual(before)
          // What was there before is there still, in its place or set aside.
          const everything = new Set([
            ...held(),
            ...(existsSync(join(outing, 'set-aside')) ? Object.values(sumsIn(join(outing, 'set-aside'))) : []),
          ])
          for (const sum of Object.values(mine)) expect(everything.has(sum)).toBe(true)
        },
      ),
      { numRuns: 30 },
    )
    console.log(tally)
    expect(Math.min(tally.safe, tally.kept, tally.faults)).toBeGreaterThan(3)
  })
})

function flip(path: string, at: number): void {
  const bytes = readFileSync(path)
  bytes[at]! ^= 1
  writeFileSync(path, bytes)
}
