import { mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import sharp from 'sharp'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { print } from '#jobs'
import { printRecordSchema } from '#jobs/schemas'
import { isThere, nightExr, onDisk, run } from './outside.ts'

const [width, height] = [180, 120]
const night = nightExr(width, height)
let folder: string
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'duskwork-files-'))
  for (const id of ['0007', '0008']) {
    mkdirSync(join(folder, 'brackets', id), { recursive: true })
    writeFileSync(join(folder, 'brackets', id, 'radiance.exr'), night.bytes)
    const reference = {
      exposureSeconds: 0.5,
      fNumber: 1.7,
      iso: 100,
      focalLengthMillimetres: 6.72,
      takenAt: { utc: null, camera: '2027-02-09T17:31:05', offsetMinutes: 60, subSecond: 0 },
      make: 'Maker',
      model: 'Model',
      artist: 'Written by the camera',
      copyright: null,
      caption: null,
    }
    writeFileSync(join(folder, 'brackets', id, 'record.json'), JSON.stringify({ reference }))
  }
})
afterEach(() => rmSync(folder, { recursive: true, force: true }))

const only = { brackets: ['0007'] }
const names = () => readdirSync(join(folder, 'prints')).sort()
const exif = async (file: string) => (await sharp(file).metadata()).exif!.toString('utf8')
const outing = (credits: object) =>
  writeFileSync(
    join(folder, 'outing.json'),
    JSON.stringify({
      schema: 'outing/1',
      title: 'Weir: at dusk',
      date: '2027-02-09',
      site: { name: 'a town', latitude: 50, longitude: 15, timeZone: 'Europe/Prague' },
      credits,
    }),
  )

describe('the files of a print', () => {
  it('take the format’s ending and, by pattern, the bracket, its time, its size and the outing’s title', async () => {
    outing({})
    const { prints } = await print(onDisk(), folder, {
      ...only,
      file: { formats: ['jpeg', 'hdr-jpeg'], name: '{date} {time} {title} {bracket} {size}', longSidePixels: 90 },
    })
    const name = '2027-02-09 17.31.05 Weir- at dusk 0007 90'
    expect(names()).toEqual([
      `${name}.hdr.jpg`,
      `${name}.hdr.jpg.record.json`,
      `${name}.jpg`,
      `${name}.jpg.record.json`,
    ])
    for (const p of prints) expect([p.width, p.height]).toEqual([90, 60])
  })

  it('are as long as asked for in every format, and never longer than the picture', async () => {
    const formats = ['jpeg', 'hdr-jpeg', 'avif', 'tiff', 'png', 'exr', 'dng'] as const
    for (const [side, wide] of [
      [77, 77],
      [4000, width],
    ] as const) {
      const out = join(folder, String(side))
      const { prints, leftOut } = await print(onDisk(), folder, {
        ...only,
        out,
        file: { formats, longSidePixels: side },
      })
      expect(leftOut).toEqual([])
      for (const p of prints) expect([p.format, p.width, p.proof.ok]).toEqual([p.format, wide, true])
      const found = await sharp(prints.find((p) => p.format === 'tiff')!.file).metadata()
      expect(found.width).toBe(wide)
    }
  })

  it('hold fewer bytes at less quality, and the record says which', async () => {
    const size = async (quality: number) => {
      const file = { formats: ['jpeg', 'avif'] as const, quality }
      const { prints } = await print(onDisk(), folder, { ...only, out: join(folder, `q${quality}`), file })
      for (const p of prints) {
        const { settings } = printRecordSchema.parse(JSON.parse(readFileSync(p.record, 'utf8')))
        expect(settings.file).toMatchObject({ format: p.format, quality })
      }
      return prints.map((p) => p.bytes)
    }
    const [low, high] = [await size(60), await size(95)]
    low.forEach((bytes, i) => void expect(bytes).toBeLessThan(high[i]!))
  })

  it('come out the same to the byte from the settings in the record, in every format', async () => {
    const formats = ['jpeg', 'hdr-jpeg', 'avif', 'tiff', 'png', 'exr', 'dng'] as const
    const first = await print(onDisk(), folder, { ...only, file: { formats, longSidePixels: 120, quality: 85 } })
    for (const p of first.prints) {
      const { settings, print: made } = printRecordSchema.parse(JSON.parse(readFileSync(p.record, 'utf8')))
      const { format, ...rest } = settings.file
      const again = await print(onDisk(), folder, {
        ...only,
        out: join(folder, 'again'),
        file: { ...rest, formats: [format] },
        look: settings.look,
      })
      expect(onDisk().sha256(readFileSync(again.prints[0]!.file))).toBe(made.sha256)
    }
  })

  it('carry the outing’s author, notice and caption before what the camera wrote, and what the command says before both', async () => {
    outing({ author: 'Åsa Ö', copyright: '© Åsa', caption: 'A weir', captions: { '0008': 'The lock' } })
    const { prints } = await print(onDisk(), folder, { copyright: 'CC BY 4.0' })
    const [first, second] = [await exif(prints[0]!.file), await exif(prints[1]!.file)]
    for (const text of [first, second]) {
      expect(text).toContain('Åsa Ö\0')
      expect(text).toContain('CC BY 4.0\0')
      expect(text).not.toContain('Written by')
    }
    expect([first.includes('A weir\0'), second.includes('The lock\0')]).toEqual([true, true])
    rmSync(join(folder, 'outing.json'))
    const bare = await print(onDisk(), folder, { ...only, out: join(folder, 'bare') })
    expect(await exif(bare.prints[0]!.file)).toContain('Written by the camera\0')
  })

  it('are made without credits from an outing.json that cannot be read, which is named', async () => {
    writeFileSync(join(folder, 'outing.json'), '{')
    const { prints, leftOut } = await print(onDisk(), folder, only)
    expect(prints.length).toBe(1)
    expect(leftOut).toMatchObject([{ what: join(folder, 'outing.json'), reason: 'not-json' }])
  })
})

describe('a file that is there already', () => {
  it('with the same content is no obstacle', async () => {
    const first = await print(onDisk(), folder, only)
    const again = await print(onDisk(), folder, only)
    expect([again.prints.length, again.leftOut]).toEqual([1, []])
    expect(again.prints[0]!.file).toBe(first.prints[0]!.file)
  })

  it('with other content stays and is named, until it is to be replaced', async () => {
    mkdirSync(join(folder, 'prints'))
    const file = join(folder, 'prints', '0007.jpg')
    writeFileSync(file, 'mine')
    const { prints, leftOut } = await print(onDisk(), folder, only)
    expect(prints).toEqual([])
    expect(leftOut).toEqual([{ what: file, reason: 'print-there', facts: {} }])
    expect(readFileSync(file, 'utf8')).toBe('mine')
    expect(names()).toEqual(['0007.jpg'])
    const replaced = await print(onDisk(), folder, { ...only, replace: true })
    expect(replaced.prints.length).toBe(1)
    expect(readFileSync(file)[0]).toBe(0xff)
  })

  it('because another print of the same run took the name is named too, even when all may be replaced', async () => {
    const { prints, leftOut } = await print(onDisk(), folder, { file: { name: 'night' }, replace: true })
    expect(prints.length).toBe(1)
    expect(leftOut).toEqual([{ what: join(folder, 'prints', 'night.jpg'), reason: 'print-name-taken', facts: {} }])
  })

  it('and is the picture’s own source is never written over', async () => {
    const source = join(folder, 'night.exr')
    writeFileSync(source, night.bytes)
    await expect(
      print(onDisk(), source, { file: { formats: ['exr'], longSidePixels: 50 }, replace: true }),
    ).rejects.toMatchObject({ kind: 'usage', code: 'print-over-source' })
    expect(readFileSync(source).equals(Buffer.from(night.bytes))).toBe(true)
  })

  it('and appears only while the print is made is not written over either', async () => {
    const host = onDisk()
    const file = join(folder, 'prints', '0007.jpg')
    const late = {
      ...host,
      files: {
        ...host.files,
        // Says there is none, as a look just before the other writer came would.
        exists: async (path: string) => (path === file ? false : host.files.exists(path)),
      },
    }
    mkdirSync(join(folder, 'prints'))
    writeFileSync(file, 'mine')
    await expect(print(late, folder, only)).rejects.toMatchObject({ code: 'file-there' })
    expect(readFileSync(file, 'utf8')).toBe('mine')
    expect(names()).toEqual(['0007.jpg'])
  })
})

/** A disk of so many bytes, where the system lets us have one. */
function withSmallDisk(bytes: number): string | null {
  const at = join(folder, 'small')
  mkdirSync(at)
  if (!isThere('mount')) return null
  try {
    run('mount', ['-t', 'tmpfs', '-o', `size=${bytes}`, 'none', at])
    return at
  } catch {
    return null
  }
}

describe('a full disk', () => {
  it('is named with the file that did not fit, and holds no half of it', async (context) => {
    const small = withSmallDisk(40 * 1024)
    if (!small) return context.skip('needs leave to mount a small disk')
    try {
      await expect(print(onDisk(), folder, { ...only, out: small, file: { formats: ['tiff'] } })).rejects.toMatchObject(
        { kind: 'io', code: 'no-space', facts: { path: join(small, '0007.tif') } },
      )
      expect(readdirSync(small)).toEqual([])
    } finally {
      run('umount', [small])
    }
  })
})

describe('a proof', () => {
  it('fails when the disk gives back another picture, and says so', async () => {
    const host = onDisk()
    const other = await sharp({ create: { width, height, channels: 3, background: '#fff' } })
      .tiff()
      .toBuffer()
    const lying = {
      ...host,
      files: {
        ...host.files,
        read: async (path: string) => (path.endsWith('.tif') ? new Uint8Array(other) : host.files.read(path)),
      },
    }
    const { prints, leftOut } = await print(lying, folder, { ...only, file: { formats: ['tiff'] } })
    expect(prints[0]!.proof).toMatchObject({ ok: false, pixels: { ok: false }, metadata: { ok: false } })
    expect(leftOut).toMatchObject([{ reason: 'print-proof-failed' }])
    const record = printRecordSchema.parse(JSON.parse(readFileSync(prints[0]!.record, 'utf8')))
    expect(record.proof.ok).toBe(false)
  })

  it('finds a position, a comment or bytes that somebody put into the file on its way to the disk', async () => {
    const host = onDisk()
    const spoil = (change: (bytes: Buffer) => Buffer) => ({
      ...host,
      files: {
        ...host.files,
        read: async (path: string) =>
          path.endsWith('.jpg') ? new Uint8Array(change(readFileSync(path))) : host.files.read(path),
      },
    })
    const changes: Record<string, (bytes: Buffer) => Buffer> = {
      comment: (b) =>
        Buffer.concat([b.subarray(0, 2), Buffer.from('fffe0006', 'hex'), Buffer.from('here'), b.subarray(2)]),
      trailer: (b) => Buffer.concat([b, Buffer.from('51.2 N')]),
      // The tag of the software becomes that of the position.
      position: (b) => {
        const at = b.indexOf(Buffer.from('3101', 'hex'))
        const out = Buffer.from(b)
        out.writeUInt16LE(34853, at)
        return out
      },
    }
    for (const [what, change] of Object.entries(changes)) {
      const { prints } = await print(spoil(change), folder, { ...only, out: join(folder, what) })
      expect(prints[0]!.proof.metadata.unexpected, what).not.toEqual([])
      expect(prints[0]!.proof.ok, what).toBe(false)
    }
  })
})
