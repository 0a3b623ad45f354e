import { createHash } from 'node:crypto'
import { existsSync, mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import sharp from 'sharp'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { createCodec, createFiles } from '#apps/io'
import { linearSrgbChromaticities, writeExr } from '#core/formats'
import { halfFromFloat } from '#core/kernels'
import { candelaOfUnit, printRadiance } from '#jobs'
import type { Host } from '#jobs/contract'
import { printRecordSchema, printSchema } from '#jobs/schemas'
import { finishTasks } from '#picture/finish'
import { testCrew } from './kernels.ts'

const width = 200
const height = 120
let folder: string
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'duskwork-print-'))
})
afterEach(() => rmSync(folder, { recursive: true, force: true }))

const sha256 = (bytes: Uint8Array) => createHash('sha256').update(bytes).digest('hex')

const host = (over: Partial<Host> = {}): Host => ({
  files: createFiles(),
  codec: createCodec(),
  crew: async (bytes) => testCrew(finishTasks, bytes),
  md5: (bytes) => createHash('md5').update(bytes).digest('hex'),
  sha256,
  progress() {},
  throwIfStopped() {},
  seconds: () => 0,
  version: '0.1.0',
  ...over,
})

/** brackets/0007/radiance.exr with lamps over a dim field, an infinity and a NaN among them. */
function bracket(
  record: object | null,
  options: { half?: boolean; names?: string[]; primaries?: number[] } = {},
): string {
  const at = join(folder, 'brackets', '0007')
  mkdirSync(at, { recursive: true })
  const plane = (gain: number) =>
    Float32Array.from({ length: width * height }, (_, i) => {
      const [x, y] = [i % width, Math.floor(i / width)]
      if (x === 150 && y === 60) return gain === 1 ? Number.POSITIVE_INFINITY : Number.NaN
      return gain * ((x - 50) ** 2 + (y - 60) ** 2 < 9 ? 40 : 0.01 + 0.0001 * x)
    })
  const [r, g, b] = options.names ?? ['R', 'G', 'B']
  const channels = [
    { name: b!, gain: 0.3 },
    { name: g!, gain: 0.7 },
    { name: r!, gain: 1 },
  ].map(({ name, gain }) => ({
    name,
    samples: options.half === false ? plane(gain) : Uint16Array.from(plane(gain), halfFromFloat),
  }))
  const primaries = (options.primaries ?? linearSrgbChromaticities) as typeof linearSrgbChromaticities
  writeFileSync(join(at, 'radiance.exr'), writeExr({ width, height, channels, chromaticities: primaries }))
  if (record) writeFileSync(join(at, 'record.json'), JSON.stringify(record))
  return join(at, 'radiance.exr')
}

const record = {
  reference: {
    exposureSeconds: 0.5,
    fNumber: 1.7,
    iso: 100,
    focalLengthMillimetres: 6.72,
    takenAt: { utc: null, camera: '2027-02-09T17:31:05', offsetMinutes: 60, subSecond: 0 },
    make: null,
    model: null,
    position: { latitude: 51.23456, longitude: 7.65432 },
  },
  scale: { candelaPerSquareMetrePerUnit: 6.9 },
}

describe('a print of a radiance file', () => {
  it('lies in the folder for prints under its bracket’s number, with its record, and is proven by a second reader', async () => {
    const radiancePath = bracket(record)
    const outDirectory = join(folder, 'prints')
    const document = await printRadiance(host(), { radiancePath, outDirectory, artist: 'A. Person' })
    expect(printSchema.parse(document)).toEqual(document)
    expect(readdirSync(outDirectory).sort()).toEqual(['0007.jpg', '0007.jpg.record.json'])
    const [print] = document.prints
    expect(print).toMatchObject({ width, height, from: radiancePath })
    expect(print!.proof.ok).toBe(true)
    expect(print!.kept).toContain('exposure-time')
    expect(print!.removed).toContain('gps-position')
    const bytes = readFileSync(print!.file)
    expect(print!.bytes).toBe(bytes.length)
    const found = await sharp(bytes).metadata()
    expect([found.width, found.height, found.hasProfile]).toEqual([width, height, true])
    const text = bytes.toString('latin1')
    expect(text).toContain('2027:02:09 17:31:05')
    expect(text).toContain('A. Person')
    expect(text).not.toContain('51.23')
    const written = printRecordSchema.parse(JSON.parse(readFileSync(print!.record, 'utf8')))
    expect(written.print.sha256).toBe(sha256(bytes))
    expect(written.from.sha256).toBe(sha256(readFileSync(radiancePath)))
    expect(written.candelaPerSquareMetrePerUnit).toBe(6.9)
  })

  it('comes out the same to the byte from the settings in its record', async () => {
    const radiancePath = bracket(record)
    const first = await printRadiance(host(), { radiancePath, outDirectory: join(folder, 'a') })
    const {
      settings: { look },
    } = printRecordSchema.parse(JSON.parse(readFileSync(first.prints[0]!.record, 'utf8')))
    const again = await printRadiance(host(), {
      radiancePath,
      outDirectory: join(folder, 'b'),
      look,
    })
    expect(sha256(readFileSync(again.prints[0]!.file))).toBe(sha256(readFileSync(first.prints[0]!.file)))
  })

  it('as TIFF holds 16 bits a sample and is proven too', async () => {
    const radiancePath = bracket(null, { half: false })
    const { prints } = await printRadiance(host(), {
      radiancePath,
      outDirectory: folder,
      file: { formats: ['tiff'], name: 'x' },
    })
    const found = await sharp(prints[0]!.file).metadata()
    expect([found.format, found.depth, found.width]).toEqual(['tiff', 'ushort', width])
    expect(prints[0]!.proof.ok).toBe(true)
  })

  it('without a record, or with one of another shape, knows no exposure and is made all the same', async () => {
    for (const odd of [null, { reference: 7 }, { reference: { iso: 'a' } }, []]) {
      const { prints } = await printRadiance(host(), {
        radiancePath: bracket(odd),
        outDirectory: folder,
      })
      expect(prints[0]!.kept).toEqual(['orientation', 'software'])
    }
  })

  it('is refused by name when colours are in other primaries or a channel is missing, and leaves no file', async () => {
    const outDirectory = join(folder, 'prints')
    const print = (radiancePath: string) => printRadiance(host(), { radiancePath, outDirectory })
    const wide = bracket(null, { primaries: [0.708, 0.292, 0.17, 0.797, 0.131, 0.046, 0.3127, 0.329] })
    await expect(print(wide)).rejects.toMatchObject({ code: 'radiance-primaries' })
    await expect(print(bracket(null, { names: ['X', 'Y', 'Z'] }))).rejects.toMatchObject({ code: 'exr-channels' })
    expect(existsSync(outDirectory)).toBe(false)
  })

  it('gives back the crew also when the user stops it', async () => {
    let closed = 0
    const stop = host({
      crew: async (bytes) => ({ ...testCrew(finishTasks, bytes), close: async () => void closed++ }),
      throwIfStopped() {
        throw new Error('stopped')
      },
    })
    await expect(printRadiance(stop, { radiancePath: bracket(null), outDirectory: folder })).rejects.toThrow('stopped')
    expect(closed).toBe(1)
  })
})

describe('the luminance that saturates the reference frame', () => {
  it('is 1.2 · 2^EV100 within 1 % (ISO 12232, q = 0.65)', () => {
    const reference = { ...record.reference, exposureSeconds: 0.5, fNumber: 2, iso: 200 }
    expect(candelaOfUnit(reference)! / (1.2 * 2 ** Math.log2((4 / 0.5) * 0.5))).toBeCloseTo(1, 2)
    expect(candelaOfUnit(null)).toBeNull()
    expect(candelaOfUnit({ ...reference, iso: null })).toBeNull()
  })
})
