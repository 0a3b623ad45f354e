import { spawnSync } from 'node:child_process'
import {
  chmodSync,
  existsSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  symlinkSync,
  writeFileSync,
} from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { setTimeout as pause } from 'node:timers/promises'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { seededRandom } from '#core/base'
import { COPYING_FOLDER, type CopyDocument } from '#jobs/contract'
import { copyManifestSchema, copySchema } from '#jobs/schemas'
import { checksumsHold, copiesIn, noise, stateOf, sumsIn, writeCard } from '../card.ts'
import { complaints, duskwork } from '../program.ts'

let root: string
let card: string
let outing: string
let second: string
beforeEach(() => {
  root = mkdtempSync(join(tmpdir(), 'duskwork-copy-'))
  card = join(root, 'card nº 1')
  outing = join(root, '2027-02-09 weir')
  second = join(root, 'second')
})
afterEach(() => rmSync(root, { recursive: true, force: true }))

const aCard = (frames = 6, bytes = 300_000) => {
  const files: Record<string, Buffer> = {}
  for (let n = 1; n <= frames; n++) {
    files[`DCIM/10${n % 2}/DUSK_${String(n).padStart(4, '0')}.DNG`] = noise(bytes + n, n)
    files[`DCIM/10${n % 2}/DUSK_${String(n).padStart(4, '0')}.JPG`] = noise(bytes / 10 + n, -n)
  }
  writeCard(card, files)
}

async function copied(code: number, ...args: string[]): Promise<CopyDocument> {
  const { code: found, out, err } = await duskwork(['copy', ...args, '--json'])
  expect([found, complaints(err)], err).toEqual([code, []])
  return copySchema.parse(JSON.parse(out))
}

const has = (tool: string, ...args: string[]) => process.platform !== 'win32' && spawnSync(tool, args).status === 0
const isRoot = process.getuid?.() === 0

/** Every name below an outing that a finished run should not leave. */
const strays = (folder: string) =>
  (readdirSync(folder, { recursive: true, encoding: 'utf8' }) as string[]).filter(
    (name) => name.includes(COPYING_FOLDER) || name.endsWith('.part') || name.endsWith('.holds'),
  )

describe('duskwork copy', () => {
  it('copies to two outings, says what is safe in words and JSON, and leaves the card as it was', async () => {
    aCard()
    const before = stateOf(card)
    const { code, out } = await duskwork(['copy', card, outing, '--also', second])
    expect(code).toBe(0)
    expect(out).toMatch(/^12 files on the card: 12 copied, 0 there already; 2\.0 MB in /)
    expect(out).toMatch(/^Safe to wipe: every file of the card is in each of 2 copies, with the same SHA-256\.$/m)
    expect(out).toContain('But a copy lies on the same disk as the card')
    expect(stateOf(card)).toEqual(before)
    for (const folder of [outing, second]) {
      expect(copiesIn(folder)).toEqual(sumsIn(card))
      expect(checksumsHold(folder)).toBe(12)
      expect(strays(folder)).toEqual([])
      expect(copyManifestSchema.parse(JSON.parse(readFileSync(join(folder, 'copy.json'), 'utf8')))).toMatchObject({
        safeToWipe: true,
        earlier: [],
      })
    }
    const again = await copied(0, card, outing, '--also', second)
    expect(again).toMatchObject({ schema: 'copy/1', copied: 0, recognised: 12, failed: [], safeToWipe: true })
    expect([again.bytes, again.bytesCopied]).toEqual([6 * 330_000 + 42, 0])
  })

  it.skipIf(!has('sha256sum', '--version'))(
    'writes sums that sha256sum accepts in the outing, odd names too',
    async () => {
      writeCard(card, {
        'DCIM/a b.DNG': 'a',
        'back\\slash.DNG': 'b',
        'line\nbreak.DNG': 'c',
        'rivière 夜.DNG': 'd',
        '-x.DNG': 'e',
      })
      await copied(0, card, outing)
      const done = spawnSync('sha256sum', ['-c', '--strict', 'checksums.sha256'], { cwd: outing, encoding: 'utf8' })
      expect([done.status, done.stderr]).toEqual([0, ''])
      expect(done.stdout.match(/: OK$/gm)?.length).toBe(5)
    },
  )

  it('does the example of its help on a demonstration outing, and what it makes is an outing', async () => {
    expect((await duskwork(['demo', join(root, 'demo-outing'), '--scale', '0.1'])).code).toBe(0)
    const help = (await duskwork(['copy', '--help'])).out
    const example = help.match(/Example:\n {2}duskwork (.*)\n/)![1]!.split(' ')
    expect((await duskwork(example, { cwd: root })).code).toBe(0)
    const { code, out } = await duskwork(['group', 'my-outing', '--json'], { cwd: root })
    expect([code, JSON.parse(out).brackets.length]).toEqual([0, 3])
  })

  it('does not say that anything is safe when one file cannot be read, and says which and what to do', async () => {
    aCard(2)
    symlinkSync('/nowhere', join(card, 'dead.DNG'))
    writeCard(card, { 'empty.DNG': '', '.DS_Store': 'x' })
    const { code, out, err } = await duskwork(['copy', card, outing])
    expect([code, complaints(err)]).toEqual([1, []])
    expect(out).not.toMatch(/safe to wipe/i)
    expect(out).toContain('Keep the card: 1 picture is empty on the card.')
    expect(out).toContain('dead.DNG: it is a link, which is not followed.')
    expect(out).toContain('an operating system left it: .DS_Store.')
  })

  it.skipIf(!isRoot)('names unreadable files and folders, copies the rest (as another user)', async () => {
    aCard(2)
    writeCard(card, { 'closed/a.DNG': 'a', 'secret.DNG': 's' })
    chmodSync(root, 0o777)
    chmodSync(join(card, 'closed'), 0)
    chmodSync(join(card, 'secret.DNG'), 0)
    const { code, out } = await duskwork(['copy', card, outing, '--json'], { uid: 65534 })
    expect(code).toBe(1)
    const document = copySchema.parse(JSON.parse(out))
    expect(document).toMatchObject({ copied: 4, safeToWipe: false })
    expect(document.failed.map((f) => [f.file, f.reason])).toEqual([
      ['closed', 'no-permission'],
      ['secret.DNG', 'no-permission'],
    ])
    chmodSync(join(card, 'closed'), 0o755)
    chmodSync(join(card, 'secret.DNG'), 0o644)
  })

  it.each([
    ['a card that is not there', 3, (): string[] => [join(root, 'gone'), outing], /there is no such file or folder/],
    ['a file as the card', 3, () => [join(root, 'file'), outing], /not a folder/],
    ['an empty card', 3, () => [join(root, 'empty'), outing], /there are no files on it/],
    ['an outing on the card', 2, () => [card, join(card, 'outing')], /it is, or lies in, /],
    ['a card in the outing', 2, () => [join(card, 'DCIM'), card], /it is, or lies in, /],
    ['one outing twice', 2, () => [card, outing, '--also', outing], /it is, or lies in, /],
    ['no outing', 2, () => [card], /missing required argument/],
  ])('refuses %s with %i and one line', async (_, code, args, words) => {
    aCard(1)
    writeFileSync(join(root, 'file'), 'x')
    mkdirSync(join(root, 'empty'))
    const before = stateOf(root)
    const ended = await duskwork(['copy', ...args()])
    expect([ended.code, ended.out]).toEqual([code, ''])
    expect(complaints(ended.err).length).toBe(1)
    expect(ended.err).toMatch(words)
    expect(stateOf(root)).toEqual(before)
  })

  it('stopped by the user ends with 130 and whole files; the next run goes on', async () => {
    aCard(40, 4_000_000)
    const { code } = await duskwork(['copy', card, outing], {
      meet: (child) => {
        const look = setInterval(() => {
          if (!existsSync(join(outing, 'originals', 'DCIM', '100', 'DUSK_0004.DNG'))) return
          // Once: asking twice means not to wait for the work.
          clearInterval(look)
          child.kill('SIGINT')
        }, 5)
        child.on('close', () => clearInterval(look))
      },
    })
    expect(code).toBe(130)
    const there = copiesIn(outing)
    expect(sumsIn(card)).toMatchObject(there)
    expect(strays(outing)).toEqual([])
    expect(Object.keys(there).length).toBeGreaterThan(2)
    console.log(`${Object.keys(there).length} of 80 files were there when it stopped`)
    expect(await copied(0, card, outing)).toMatchObject({ recognised: Object.keys(there).length, safeToWipe: true })
  })

  it('into one outing by two runs at once: one copies, the other is refused or comes after', async () => {
    aCard(20, 1_000_000)
    const ended = await Promise.all([duskwork(['copy', card, outing]), duskwork(['copy', card, outing])])
    for (const { code, err } of ended) {
      expect([0, 3]).toContain(code)
      if (code === 3) expect(err).toContain('another copy into it is running')
    }
    expect(await copied(0, card, outing)).toMatchObject({ safeToWipe: true })
    expect(copiesIn(outing)).toEqual(sumsIn(card))
    expect(strays(outing)).toEqual([])
  })
})

describe('a real disk that fills up', () => {
  const small = (place: string) => has('mount', '-t', 'tmpfs', '-o', 'size=16m', 'duskwork-test', place)
  const mayMount = () => {
    const place = mkdtempSync(join(tmpdir(), 'duskwork-small-'))
    const may = process.platform === 'linux' && isRoot && small(place) && has('umount', place)
    rmSync(place, { recursive: true, force: true })
    return may
  }
  let place: string
  beforeEach(() => {
    place = mkdtempSync(join(tmpdir(), 'duskwork-small-'))
    expect(small(place)).toBe(true)
  })
  afterEach(() => {
    spawnSync('umount', [place])
    rmSync(place, { recursive: true, force: true })
  })

  it.skipIf(!mayMount())('is refused by its free bytes, or keeps what fits (needs the right to mount)', async () => {
    const target = join(place, 'outing')
    aCard(8, 2_500_000)
    const refused = await duskwork(['copy', card, target])
    expect([refused.code, refused.out]).toEqual([3, ''])
    expect(refused.err).toMatch(/the copy needs 2\d,\d{3},\d{3} bytes and 1\d,\d{3},\d{3} are free/)
    expect(readdirSync(place)).toEqual([])

    // It fills while the copy runs: somebody else writes there.
    rmSync(card, { recursive: true })
    aCard(40, 200_000)
    const fill = () => {
      try {
        writeFileSync(join(place, 'other'), noise(16_000_000, 'other'))
      } catch (error) {
        expect((error as NodeJS.ErrnoException).code).toBe('ENOSPC')
      }
    }
    const { code, out } = await duskwork(['copy', card, target, '--also', outing, '--json'], {
      meet: (child) => child.stderr!.once('data', fill),
    })
    const document = copySchema.parse(JSON.parse(out))
    console.log(`${document.targets[0]!.verified} of 80 files fitted`)
    expect(document.targets[1]!.verified).toBe(80)
    expect(sumsIn(card)).toMatchObject(copiesIn(target))
    expect(document.safeToWipe).toBe(code === 0)
    for (const failed of document.failed)
      expect([failed.reason, failed.target]).toEqual(['no-space', join(target, 'originals')])
    rmSync(join(place, 'other'), { force: true })
    expect(await copied(0, card, target, '--also', outing)).toMatchObject({ safeToWipe: true })
    expect(strays(target)).toEqual([])
  })
})

describe('a copy that is killed', () => {
  const kills = Number(process.env['DUSKWORK_KILLS'] ?? 25)

  it(`at ${kills} random moments loses nothing: the next run has every file whole and nothing unfinished (DUSKWORK_KILLS=300 for more)`, async () => {
    aCard(12, 1_500_000)
    const before = stateOf(card)
    const wanted = sumsIn(card)
    const { seconds } = await copied(0, card, outing, '--also', second)
    // From before the program has started to after its work: the whole life of a run.
    const longest = 1000 * seconds + 400
    const random = seededRandom(20270209)
    let killed = 0
    let partly = 0
    let unfinished = 0
    const killedRun = async () => {
      const { code } = await duskwork(['copy', card, outing, '--also', second], {
        meet: (child) => void pause(random.uniform() * longest).then(() => child.kill('SIGKILL')),
      })
      if (code === null) killed++
      for (const folder of [outing, second]) {
        if (!existsSync(join(folder, 'originals'))) continue
        const there = copiesIn(folder)
        // Whatever has a name is whole at any moment.
        expect(wanted).toMatchObject(there)
        if (existsSync(join(folder, 'checksums.sha256'))) checksumsHold(folder)
        if (Object.keys(there).length < 24) partly++
        if (strays(folder).length > 0) unfinished++
      }
    }
    for (let round = 0; killed < kills; round++) {
      expect(round, 'runs end before they can be killed').toBeLessThan(4 * kills)
      for (const folder of [outing, second]) rmSync(folder, { recursive: true, force: true })
      await killedRun()
      // In every other round the run that goes on is killed too.
      if (round % 2 === 1) await killedRun()
      expect(await copied(0, card, outing, '--also', second)).toMatchObject({ safeToWipe: true, failed: [] })
      for (const folder of [outing, second]) {
        expect(copiesIn(folder)).toEqual(wanted)
        expect(checksumsHold(folder)).toBe(24)
        expect(strays(folder)).toEqual([])
      }
    }
    console.log(
      `${killed} runs were killed; ${partly} outings were found partly copied, ${unfinished} with unfinished files`,
    )
    expect(partly).toBeGreaterThan(0)
    expect(stateOf(card)).toEqual(before)
  }, 3_600_000)
})
