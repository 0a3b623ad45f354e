import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import sharp from 'sharp'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { insertJpegSegments, rgbProfile, writeDng, writeTiff } from '#core/formats'
import { merge, print } from '#jobs'
import type { PrintDocument, PrintFormat } from '#jobs/contract'
import { finishTasks } from '#picture/finish'
import { mergeTasks } from '#picture/merge'
import { rawTasks } from '#picture/raw'
import { shadingTasks } from '#picture/shading'
import { testCrew } from './kernels.ts'
import { isThere, nightLight, onDisk, run } from './outside.ts'
import { plant, plantedNames, plantedWords, wanted } from './planted.fixture.ts'

const [width, height] = [256, 192]
const formats: PrintFormat[] = ['jpeg', 'hdr-jpeg', 'avif', 'tiff', 'png', 'exr', 'dng']
const light = nightLight(width, height)
const host = onDisk({
  crew: async (bytes) => testCrew({ ...rawTasks, ...mergeTasks, ...shadingTasks, ...finishTasks }, bytes),
})

const seconds = [1 / 60, 1 / 15, 1 / 4]
const cameraTime = (k: number) => ({ camera: `2027-02-09T17:31:0${k}`, subSecond: 0, offsetMinutes: 60 })

/** A raw frame of the night in an RGGB mosaic. */
function rawFrame(k: number): Uint8Array {
  const mosaic = Uint16Array.from({ length: width * height }, (_, i) => {
    const [x, y] = [i % width, Math.floor(i / width)]
    const c = (x & 1) + (y & 1)
    return Math.round(Math.min(4095, 256 + 3800 * light[c]![i]! * seconds[k]! * 12))
  })
  return writeDng({
    ...{ width, height, mosaic, bitsPerSample: 16, packing: { kind: 'words' } },
    cfa: [0, 1, 1, 2],
    black: { repeatRows: 1, repeatColumns: 1, values: [256] },
    white: 4095,
    ...{ exposureSeconds: seconds[k]!, iso: 100, fNumber: 2.8, focalLengthMillimetres: 6.72 },
    takenAt: cameraTime(k),
    make: 'Maker',
    model: 'Model',
    noise: [{ scale: 1e-4, offset: 1e-8 }],
    colour: { illuminant1: 21, colorMatrix1: [1, 0, 0, 0, 1, 0, 0, 0, 1], asShotNeutral: [1, 1, 1] },
  })
}

/** A finished frame as cameras write them: a block of the maker's, a thumbnail, and bytes after the picture. */
async function renderedFrame(k: number): Promise<Uint8Array> {
  const data = Uint8Array.from({ length: width * height * 3 }, (_, i) => {
    const v = light[i % 3]![Math.floor(i / 3)]! * seconds[k]! * 12
    return Math.round(255 * Math.min(Math.max(v, 0), 1) ** (1 / 2.2))
  })
  const picture = sharp(data, { raw: { width, height, channels: 3 } })
  const small = await picture.clone().resize(64).jpeg().toBuffer()
  const words = (text: string) => [...Buffer.from(text)]
  const thumbnail = Buffer.concat([small.subarray(0, 2), comment('planted-thumbnail'), small.subarray(2)])
  const exif = writeTiff([
    {
      fields: [
        { tag: 271, type: 'ascii', text: 'Maker' },
        { tag: 272, type: 'ascii', text: 'Model' },
      ],
      children: [
        {
          tag: 34665,
          directories: [
            {
              fields: [
                { tag: 33434, type: 'rational', values: [Math.round(seconds[k]! * 6000), 6000] },
                { tag: 33437, type: 'rational', values: [28, 10] },
                { tag: 34855, type: 'short', values: [100] },
                { tag: 36867, type: 'ascii', text: `2027:02:09 17:31:0${k}` },
                { tag: 37500, type: 'undefined', values: words('planted-maker-note SN:0123456789, 51.234567 N') },
              ],
            },
          ],
        },
      ],
    },
    {
      fields: [{ tag: 259, type: 'short', values: [6] }],
      segments: { offsetsTag: 513, countsTag: 514, segments: [new Uint8Array(thumbnail)] },
    },
  ])
  const bare = await picture.jpeg({ quality: 95, chromaSubsampling: '4:4:4' }).toBuffer()
  const jpeg = insertJpegSegments(bare, { exif, icc: rgbProfile('srgb') })
  return Buffer.concat([jpeg.subarray(0, 2), comment('planted-jpeg-comment'), jpeg.subarray(2)])
}

function comment(text: string): Buffer {
  const body = Buffer.from(text)
  return Buffer.concat([Buffer.from([0xff, 0xfe, 0, body.length + 2]), body])
}

const sources = {
  'raw frames': { ending: 'dng', frame: async (k: number) => rawFrame(k) },
  'finished frames': { ending: 'jpg', frame: renderedFrame },
} as const

const there = isThere('exiftool')

describe.skipIf(!there).each(Object.keys(sources) as (keyof typeof sources)[])(
  there ? 'prints of %s full of planted facts' : 'prints of %s full of planted facts (needs exiftool)',
  (kind) => {
    let folder: string
    let document: PrintDocument
    let frames: string[]
    const listed = (file: string) =>
      (
        JSON.parse(run('exiftool', ['-j', '-a', '-ee3', '-u', '-G1', '-s', file]).toString()) as [
          Record<string, unknown>,
        ]
      )[0]
    const local = (tag: string) => tag.replace(/^.*:/, '')

    beforeAll(async () => {
      folder = mkdtempSync(join(tmpdir(), 'duskwork-privacy-'))
      const { ending, frame } = sources[kind]
      frames = []
      for (const k of seconds.keys()) {
        const file = join(folder, `frame${k}.${ending}`)
        writeFileSync(file, await frame(k))
        plant(file, folder)
        if (ending === 'jpg')
          writeFileSync(file, Buffer.concat([readFileSync(file), Buffer.from('planted-trailer 51.234567 N')]))
        frames.push(file)
      }
      const merged = await merge(host, frames, {
        out: join(folder, 'brackets'),
        print: { outDirectory: join(folder, 'with-merge') },
      })
      const radiance = merged.brackets[0]!.radiance
      document = await print(host, radiance, { file: { formats }, out: join(folder, 'prints') })
    })
    afterAll(() => rmSync(folder, { recursive: true, force: true }))

    it('start from at least 60 fields that the outside reader finds in every frame', () => {
      for (const file of frames) {
        const found = new Set(Object.keys(listed(file)).map(local))
        const planted = plantedNames.filter((name) => found.has(name))
        console.log(`${kind}: ${planted.length} planted fields found in ${file.slice(folder.length + 1)}`)
        expect(planted.length).toBeGreaterThanOrEqual(60)
        if (kind === 'finished frames') {
          const text = readFileSync(file).toString('latin1')
          for (const word of ['planted-maker-note', 'planted-thumbnail', 'planted-trailer', 'planted-jpeg-comment'])
            expect(text).toContain(word)
        }
      }
    })

    it.each(formats)('%s: the outside reader finds none of them', (format) => {
      const { file, proof } = document.prints.find((p) => p.format === format)!
      const names = Object.keys(listed(file)).map(local)
      expect(names.filter((name) => plantedNames.includes(name))).toEqual([])
      expect(
        names.filter((name) => /gps|serial|owner(?!$)|altitude|gimbal|flight|makernote|thumbnail/i.test(name)),
      ).toEqual([])
      expect(proof).toMatchObject({ ok: true, metadata: { ok: true, unexpected: [] } })
    })

    it.each(formats)('%s: their words stand nowhere in its bytes', (format) => {
      const { file } = document.prints.find((p) => p.format === format)!
      const bytes = readFileSync(file)
      const utf16 = (word: string) => Buffer.from(word, 'utf16le')
      for (const word of plantedWords) {
        expect(bytes.includes(word), word).toBe(false)
        expect(bytes.includes(utf16(word)), `${word} in 16-bit letters`).toBe(false)
      }
    })

    it.each(formats)('%s: the outside reader finds all that was to be kept', (format) => {
      const { file, kept } = document.prints.find((p) => p.format === format)!
      const found = listed(file)
      const values = Object.entries(found).map(([tag, value]) => [local(tag), String(value)] as const)
      const has = (names: RegExp, value: string | RegExp) =>
        values.some(([name, v]) => names.test(name) && (typeof value === 'string' ? v === value : value.test(v)))
      expect(has(/^(Artist|Creator)$/, wanted.artist), 'author').toBe(true)
      expect(has(/^(Copyright|Rights|Owner)$/, wanted.copyright), 'copyright').toBe(true)
      expect(has(/^(ImageDescription|Description|Comments)$/, wanted.caption), 'caption').toBe(true)
      expect(has(/^(ExposureTime|ExpTime)$/, /^(1\/15|0\.0666\d*|0\.066\d*)$/), 'exposure').toBe(true)
      expect(has(/^(FNumber|Aperture)$/, /^2\.8/), 'f-number').toBe(true)
      expect(has(/^(ISO|IsoSpeed)$/i, '100'), 'iso').toBe(true)
      expect(has(/^(DateTimeOriginal|CapDate)$/, '2027:02:09 17:31:01'), 'time').toBe(true)
      for (const name of ['artist', 'copyright', 'caption', 'exposure-time', 'f-number', 'iso', 'date'])
        expect(kept).toContain(name)
    })

    it('made along with the merge carry as little', () => {
      const text = run('sh', ['-c', `cat "${folder}"/with-merge/*.jpg`]).toString('latin1')
      for (const word of plantedWords) expect(text).not.toContain(word)
      expect(text).toContain('2027:02:09 17:31:01')
    })

    it('with --keep none say nothing but how to show them', async () => {
      const out = join(folder, 'bare')
      const radiance = join(folder, 'brackets', 'frame0', 'radiance.exr')
      const bare = await print(host, radiance, { file: { formats, keep: [] }, out })
      for (const p of bare.prints) {
        expect(p.proof.ok).toBe(true)
        expect(p.kept.filter((name) => !['orientation', 'software'].includes(name))).toEqual([])
        const text = readFileSync(p.file).toString('latin1')
        for (const word of ['17:31:0', 'degård', Buffer.from('degård').toString('latin1'), 'weir'])
          expect(text).not.toContain(word)
      }
    })
  },
)
