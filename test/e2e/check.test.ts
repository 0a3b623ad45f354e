import { existsSync, readFileSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { checkSchema } from '#jobs/schemas'
import { checksums, complaints, duskwork, filesIn, scratchFolder } from '../program.ts'

const { folder, remove } = scratchFolder('check')
afterAll(remove)
const outing = join(folder, 'night')
const copied = join(folder, 'copied')

const checked = async (path: string, ...args: string[]) => {
  const ended = await duskwork(['check', path, '--json', ...args])
  return { ...ended, document: ended.out ? checkSchema.parse(JSON.parse(ended.out)) : null }
}

let before: Record<string, string>
beforeAll(async () => {
  expect((await duskwork(['demo', outing, '--scale', '0.25'])).code).toBe(0)
  expect((await duskwork(['copy', join(outing, 'originals'), copied])).code).toBe(0)
  before = checksums(join(copied, 'originals'))
}, 240_000)

describe('check on an outing', () => {
  it('measures every frame, judges every bracket, and leaves the originals as they were', async () => {
    const { code, document, err } = await checked(copied)
    expect(code, err).toBe(0)
    expect(document!.brackets.map((b) => b.frames.length)).toEqual([7, 5, 5])
    expect(document!.frames).toHaveLength(18)
    expect(checksums(join(copied, 'originals'))).toEqual(before)
    for (const b of document!.brackets) {
      expect(b.frames).toContain(b.best)
      expect(b.scene!.highStops).toBeGreaterThan(b.scene!.lowStops + 4)
      // What a frame holds of the scene moves by as much as its exposure, and longer ones clip more.
      const of = b.frames.map((file) => document!.frames.find((f) => f.file === file)!)
      const byLight = [...of].sort((x, y) => y.span!.highStops - x.span!.highStops)
      byLight.reduce((shorter, longer) => {
        expect(longer.clipped.g).toBeGreaterThanOrEqual(shorter.clipped.g)
        return longer
      })
    }
    console.log(document!.brackets.map((b) => `${b.id} ${b.verdict} ${b.reasons.map((r) => r.words).join('; ')}`))
  })

  it('says the same with plain kernels', async () => {
    const [fast, plain] = [await checked(copied), await checked(copied, '--kernels', 'plain')]
    expect(plain.document!.brackets.map((b) => b.verdict)).toEqual(fast.document!.brackets.map((b) => b.verdict))
    let worst = 0
    fast.document!.frames.forEach((f, i) => {
      const other = plain.document!.frames[i]!
      for (const c of ['r', 'g', 'b'] as const) worst = Math.max(worst, Math.abs(f.clipped[c] - other.clipped[c]))
      if (f.smear && other.smear) expect(Math.abs(f.smear.pixels - other.smear.pixels)).toBeLessThan(0.02)
    })
    console.log(`clipped shares, fast against plain: worst ${worst}`)
    expect(worst).toBeLessThan(1e-6)
  })

  it('leaves check.json, a page with a small picture of every frame, and nothing half written', async () => {
    await checked(copied)
    const page = readFileSync(join(copied, 'check.html'), 'utf8')
    const small = filesIn(join(copied, 'contact'))
    expect(small).toHaveLength(18)
    for (const name of small) expect(page).toContain(`contact/${name}`)
    expect(page).not.toMatch(/(?:src|href)="https?:/)
    expect(checkSchema.parse(JSON.parse(readFileSync(join(copied, 'check.json'), 'utf8'))).frames).toHaveLength(18)
    expect(filesIn(copied).filter((f) => f.endsWith('.part'))).toEqual([])
  })

  it('writes nothing into a folder that is no outing', async () => {
    const plain = join(outing, 'originals')
    const files = filesIn(plain)
    const { code, document } = await checked(plain, '--only', '0001')
    expect(code).toBe(0)
    expect(document!.frames).toHaveLength(7)
    expect(document!.report).toBeNull()
    expect(filesIn(plain)).toEqual(files)
  })
})

describe('check on damaged files', () => {
  it('names what changed since it was copied and what is cut off, and judges the rest', async () => {
    const [flipped, cut] = ['DUSK_0003.DNG', 'DUSK_0010.DNG'].map((n) => join(copied, 'originals', n)) as [
      string,
      string,
    ]
    const [whole, other] = [readFileSync(flipped), readFileSync(cut)]
    const bytes = Buffer.from(whole)
    // In the pixels, not in the header: one bit.
    bytes[bytes.length - 900] = bytes[bytes.length - 900]! ^ 1
    writeFileSync(flipped, bytes)
    writeFileSync(cut, other.subarray(0, other.length >> 1))
    try {
      const { code, document } = await checked(copied)
      expect(code).toBe(1)
      const reasons = Object.fromEntries(document!.leftOut.map((l) => [l.what.split('/').at(-1), l.reason]))
      expect(Object.keys(reasons).sort()).toEqual(['DUSK_0003.DNG', 'DUSK_0010.DNG'])
      const bracket = document!.brackets.find((b) => b.frames.some((f) => f.endsWith('DUSK_0003.DNG')))!
      expect(document!.brackets).toHaveLength(3)
      expect(bracket.frames).toHaveLength(7)
    } finally {
      writeFileSync(flipped, whole)
      writeFileSync(cut, other)
    }
  })

  it('refuses a bracket that is not there, an empty folder and one that is missing, by name', async () => {
    const none = await duskwork(['check', copied, '--only', '0099'])
    expect(none.code).toBe(2)
    expect(complaints(none.err)[0]).toMatch(/0099/)
    for (const path of [join(folder, 'nothing')]) {
      const ended = await duskwork(['check', path])
      expect(ended.code).toBe(3)
      expect(complaints(ended.err)).toHaveLength(1)
      expect(existsSync(path)).toBe(false)
    }
  })
})
