import { existsSync, mkdirSync, mkdtempSync, readFileSync, rmSync, truncateSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { basename, join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { createFiles } from '#apps/io'
import { Failure } from '#core/base'
import { type AskedCorrections, group } from '#jobs'
import type { GroupDocument, Host } from '#jobs/contract'
import { correctionsSchema, groupSchema } from '#jobs/schemas'
import { writeCard } from '../cards/files.fixture.ts'
import { orders, Photographer } from '../cards/photographer.fixture.ts'
import { checksums, complaints, duskwork } from '../program.ts'

const host = { files: createFiles(), progress() {}, throwIfStopped() {} } as unknown as Host

let folder: string
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'duskwork-corrections-'))
})
afterEach(() => rmSync(folder, { recursive: true, force: true }))

/** Four brackets of five, then three singles; WEIR_0001 … WEIR_0023. */
function card(into: string) {
  const p = new Photographer(3, { files: 'raw', subSeconds: true, attitude: true, receiver: false, stepStops: 1 })
  for (let i = 0; i < 4; i++) p.turn(40).bracket(orders.middleFirst(5), { pause: 6 })
  for (let i = 0; i < 3; i++) p.turn(40).single(0, 9)
  writeCard(into, p.entries)
}
const outing = () => card(join(folder, 'originals'))
const numbers = ({ brackets }: GroupDocument) =>
  brackets.map((b) => b.frames.map((f) => Number(basename(f.file).slice(5, 9))).join(' '))
const grouped = async (asked: AskedCorrections = {}) => groupSchema.parse((await group(host, folder, asked)).document)
const remembered = () => correctionsSchema.parse(JSON.parse(readFileSync(join(folder, 'corrections.json'), 'utf8')))

const whole = ['1 2 3 4 5', '6 7 8 9 10', '11 12 13 14 15', '16 17 18 19 20']

describe('corrections of a grouping', () => {
  it('join and split brackets, and are shown as evidence', async () => {
    outing()
    expect(numbers(await grouped())).toEqual(whole)
    const document = await grouped({
      join: [['0001', '0002']],
      split: [{ bracket: '0004', before: 'WEIR_0018.DNG' }],
    })
    expect(numbers(document)).toEqual(['1 2 3 4 5 6 7 8 9 10', '11 12 13 14 15', '16 17', '18 19 20'])
    expect(document.brackets.map((b) => b.evidence[0])).toMatchObject([
      'joined by you',
      expect.stringContaining('5 different exposures'),
      'split by you',
      'split by you',
    ])
    expect(document.corrections.remembered).toBe(true)
    expect(document.doubts).toEqual([])
  })

  it('hold in later runs, and when new frames before them change every number', async () => {
    outing()
    await grouped({ join: [['0003', 'WEIR_0021']] })
    const before = new Photographer(4, { files: 'raw', subSeconds: true, attitude: true, stepStops: 1 })
    before.now -= 3600
    before.folder = 'DCIM/099MOONS/'
    before.counter = 900
    before.bracket(orders.middleFirst(5))
    writeCard(join(folder, 'originals'), before.entries)
    const document = await grouped()
    expect(numbers(document)).toEqual([
      '900 901 902 903 904',
      '1 2 3 4 5',
      '6 7 8 9 10',
      '11 12 13 14 15 21',
      '16 17 18 19 20',
    ])
    expect(remembered().groups).toMatchObject([{ by: 'join', frames: { length: 6 } }])
    expect(remembered().groups[0]!.frames[0]).toBe('originals/DCIM/100MOONS/WEIR_0011.DNG')
  })

  it('give way to newer ones of the same frames, and all are dropped by forget', async () => {
    outing()
    await grouped({ join: [['0001', '0002']] })
    expect(numbers(await grouped({ split: [{ bracket: '0001', before: 'WEIR_0006' }] }))).toEqual(whole)
    expect(remembered().groups.map((g) => g.by)).toEqual(['split', 'split'])
    expect(numbers(await grouped({ forget: true, join: [['0002', '0003']] }))).toHaveLength(3)
    const document = await grouped({ forget: true })
    expect(numbers(document)).toEqual(whole)
    expect(existsSync(join(folder, 'corrections.json'))).toBe(false)
    expect(document.corrections.groups).toEqual([])
  })

  it('lose frames that are gone, and nothing else', async () => {
    outing()
    await grouped({ join: [['0001', '0002']] })
    rmSync(join(folder, 'originals/DCIM/100MOONS/WEIR_0004.DNG'))
    expect(numbers(await grouped())[0]).toBe('1 2 3 5 6 7 8 9 10')
  })

  it('in a folder that is no outing are made for this once, and nothing is written', async () => {
    card(folder)
    const before = checksums(folder)
    const document = await grouped({ join: [['0001', '0002']] })
    expect(numbers(document)).toHaveLength(3)
    expect(document.corrections.remembered).toBe(false)
    expect(numbers(await grouped())).toEqual(whole)
    expect(checksums(folder)).toEqual(before)
  })

  it.each<[string, AskedCorrections, string]>([
    ['a bracket that is not there', { join: [['0001', '0099']] }, 'no-such-bracket'],
    ['a frame that is not there', { join: [['0001', 'MILL_0001']] }, 'no-such-frame'],
    ['one part', { join: [['0001']] }, 'join-too-few'],
    ['one part twice', { join: [['0001', '0001']] }, 'join-too-few'],
    ['a split of no bracket', { split: [{ bracket: '0099', before: 'WEIR_0003' }] }, 'no-such-bracket'],
    [
      'a split before a frame of another',
      { split: [{ bracket: '0001', before: 'WEIR_0007' }] },
      'frame-not-in-bracket',
    ],
    ['a split before the first frame', { split: [{ bracket: '0001', before: 'WEIR_0001' }] }, 'split-before-first'],
  ])('of %s are refused by name, and nothing changes', async (_, asked, code) => {
    outing()
    await grouped({ join: [['0002', '0003']] })
    const before = checksums(folder)
    await expect(group(host, folder, asked)).rejects.toMatchObject({ kind: 'usage', code })
    expect(checksums(folder)).toEqual(before)
  })

  it('that are damaged or of a later version are refused by name and left as they are', async () => {
    outing()
    for (const [content, code] of [
      ['{"schema":"corrections/1","groups":[{}]}', 'corrections-unreadable'],
      ['not JSON', 'corrections-unreadable'],
      ['{"schema":"corrections/2"}', 'newer-document'],
    ]) {
      writeFileSync(join(folder, 'corrections.json'), content!)
      await expect(group(host, folder)).rejects.toMatchObject({ code })
      expect(readFileSync(join(folder, 'corrections.json'), 'utf8')).toBe(content)
    }
  })
})

describe('the command line of group', () => {
  it('takes --join, --split and --forget, says what is remembered, and refuses what it cannot read', async () => {
    outing()
    const joined = await duskwork(['group', folder, '--join', '0001,0002', '--split', '0004@WEIR_0018.DNG'])
    expect([joined.code, joined.out]).toEqual([0, expect.stringMatching(/0001 {2}10 frames.*; joined by you/)])
    expect(joined.out).toContain('3 groups as you corrected them, remembered in corrections.json')
    const forgot = await duskwork(['group', folder, '--forget', '--json'])
    expect(numbers(groupSchema.parse(JSON.parse(forgot.out)))).toEqual(whole)
    for (const wrong of ['0004', '@WEIR_0018', '0004@']) {
      const { code, err } = await duskwork(['group', folder, '--split', wrong])
      expect([code, complaints(err)[0]]).toEqual([2, expect.stringContaining('does not say where to split')])
    }
  })

  it('says by how much the clock is wrong, and where it was set', async () => {
    const p = new Photographer(5, { files: 'raw', receiver: true, attitude: true, stepStops: 1 })
    p.clockSeconds = 3600 - 437
    for (let i = 0; i < 4; i++) {
      if (i === 3) p.clockSeconds += 437
      p.turn(40).bracket(orders.middleFirst(5), { pause: 6 })
    }
    writeCard(folder, p.entries)
    const { out } = await duskwork(['group', folder])
    // Whole seconds on both sides: one second either way.
    expect(out).toMatch(/clock is 7 min 1[678] s slow: add 43[678] s/)
    expect(out).toMatch(/Before WEIR_0016.DNG the camera’s clock was set forward by 7 min 1[678] s/)
    expect((await grouped()).brackets).toHaveLength(4)
  })
})

describe('a card with what went wrong on it', () => {
  it('names an empty, a cut-off, a foreign file and an unreadable folder, and groups the rest', async () => {
    card(folder)
    const file = (n: number) => join(folder, `DCIM/100MOONS/WEIR_00${String(n).padStart(2, '0')}.DNG`)
    truncateSync(file(3), 0)
    truncateSync(file(9), 200)
    writeFileSync(file(22), 'not a picture')
    mkdirSync(join(folder, 'DCIM/closed'))
    writeFileSync(join(folder, 'DCIM/closed/WEIR_0100.DNG'), '')
    const closed = join(folder, 'DCIM/closed')
    const files = createFiles()
    // Root may read any folder; a refusal by the system is the same to the job.
    const refusing: Host = {
      ...host,
      files: {
        ...files,
        async list(path) {
          if (path !== closed) return files.list(path)
          throw new Failure('io', 'no-permission', { path })
        },
      },
    }
    const { document } = await group(refusing, folder)
    expect(document.leftOut.map((l) => [basename(l.what), l.reason]).sort()).toEqual([
      ['WEIR_0003.DNG', 'empty-file'],
      ['WEIR_0009.DNG', expect.any(String)],
      ['WEIR_0022.DNG', expect.any(String)],
      ['closed', 'no-permission'],
    ])
    expect(numbers(document)).toEqual(['1 2 4 5', '6 7 8 10', '11 12 13 14 15', '16 17 18 19 20'])
    expect(document.doubts.filter((d) => d.about === 'missing-frame').map((d) => d.brackets[0])).toEqual([
      '0001',
      '0002',
    ])
  })
})
