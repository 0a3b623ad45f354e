import { execFileSync } from 'node:child_process'
import {
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  statSync,
  symlinkSync,
  utimesSync,
  writeFileSync,
} from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import fc from 'fast-check'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { Failure } from '#core/base'
import { createDisk } from './disk.ts'

const disk = createDisk()
let folder: string
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'duskwork-disk-'))
})
afterEach(() => rmSync(folder, { recursive: true, force: true }))

const codeOf = (work: Promise<unknown>) =>
  work.then(
    () => 'none',
    (e: unknown) => (e instanceof Failure ? e.code : `not a failure: ${String(e)}`),
  )

describe('the disk as a copy sees it', () => {
  it('gives the same bytes by either way of reading, at every length around a block', async () => {
    const path = join(folder, 'a')
    const into = disk.buffer(8192)
    const ways = new Set<boolean>()
    await fc.assert(
      fc.asyncProperty(
        fc.constantFrom(0, 1, 511, 512, 513, 4095, 4096, 8191, 8192, 8193, 16_384, 20_001),
        async (n) => {
          const bytes = Buffer.from(Uint8Array.from({ length: n }, (_, i) => (i * 7 + (i >> 8)) & 255))
          writeFileSync(path, bytes)
          for (const open of [disk.openSource, disk.openBack]) {
            const source = await open(path)
            const parts: Buffer[] = []
            for (;;) {
              const some = await source.read(into)
              parts.push(Buffer.from(into.slice(0, some)))
              if (some < into.length) break
            }
            ways.add(source.aroundMemory())
            await source.close()
            expect(Buffer.concat(parts).equals(bytes)).toBe(true)
          }
        },
      ),
    )
    console.log(`reading back went ${ways.has(true) ? 'around' : 'through'} the memory of the system`)
  })

  it('does not follow links, enter pipes, or change the time of access of what it reads', async () => {
    const path = join(folder, 'a')
    writeFileSync(path, 'picture')
    const long = new Date('2020-01-01T00:00:00Z')
    utimesSync(path, long, long)
    symlinkSync(path, join(folder, 'link'))
    symlinkSync(join(folder, 'nowhere'), join(folder, 'dead'))
    expect((await disk.look(join(folder, 'link')))?.kind).toBe('link')
    expect((await disk.look(join(folder, 'dead')))?.kind).toBe('link')
    expect(await codeOf(disk.openSource(join(folder, 'link')))).toBe('link-not-followed')
    expect(await codeOf(disk.openSource(folder))).toBe('is-a-folder')
    expect(await codeOf(disk.openSource(join(folder, 'gone')))).toBe('not-found')
    if (process.platform !== 'win32') {
      execFileSync('mkfifo', [join(folder, 'pipe')])
      expect((await disk.look(join(folder, 'pipe')))?.kind).toBe('other')
      expect(await codeOf(disk.openSource(join(folder, 'pipe')))).toBe('not-a-file')
    }
    const source = await disk.openSource(path)
    await source.read(disk.buffer(64))
    await source.close()
    if (process.platform === 'linux') expect(statSync(path).atimeMs).toBe(long.getTime())
    expect(statSync(path).mtimeMs).toBe(long.getTime())
  })

  it('writes new files only, with the time of the original, and leaves nothing of a discarded one', async () => {
    const path = join(folder, 'a')
    const file = await disk.create(path)
    await file.append(Uint8Array.of(1, 2))
    await file.append('3')
    await file.finish(1_500_000_000_000)
    expect([...readFileSync(path)]).toEqual([1, 2, 51])
    expect(statSync(path).mtimeMs).toBe(1_500_000_000_000)
    expect(await codeOf(disk.create(path))).toBe('write-failed')
    const other = await disk.create(join(folder, 'b'))
    await other.append('x')
    await other.discard()
    await other.discard()
    await disk.move(path, join(folder, 'c'))
    expect(readdirSync(folder)).toEqual(['c'])
  })

  it('knows a folder by any of its names: itself, below, by a link, not yet there, and not its neighbour', async () => {
    mkdirSync(join(folder, 'card', 'DCIM'), { recursive: true })
    mkdirSync(join(folder, 'card-2'))
    symlinkSync(join(folder, 'card', 'DCIM'), join(folder, 'link'))
    const card = join(folder, 'card')
    const inside = [card, join(card, 'DCIM'), join(card, 'a', 'b'), join(folder, 'link'), join(folder, 'link', 'new')]
    for (const path of inside) expect([path, await disk.holds(card, path)]).toEqual([path, true])
    for (const path of [folder, join(folder, 'card-2'), join(folder, 'card-3'), '/'])
      expect([path, await disk.holds(card, path)]).toEqual([path, false])
    const future = join(folder, 'link', 'new')
    for (const path of [future, join(card, 'DCIM', 'new', 'a'), join(card, 'dcim', 'New').replace('dcim', 'DCIM')])
      expect([path, await disk.holds(future, path)]).toEqual([path, true])
    for (const path of [folder, join(folder, 'link', 'new-2'), card])
      expect([path, await disk.holds(future, path)]).toEqual([path, false])
  })

  it('counts free bytes and disks for places that are not there yet', async () => {
    expect(await disk.freeBytes(join(folder, 'a', 'b'))).toBeGreaterThan(0)
    expect(await disk.sameDisk(folder, join(folder, 'a', 'b'))).toBe(true)
    expect(await disk.removeEmpty(join(folder, 'a'))).toBe(false)
  })

  it('sums as the standard says', () => {
    // FIPS 180-4, example for SHA-256: "abc".
    const sum = disk.sum()
    sum.update(Uint8Array.of(97))
    sum.update(Uint8Array.of(98, 99))
    expect(sum.hex()).toBe('ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad')
  })
})
