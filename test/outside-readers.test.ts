import { mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import sharp from 'sharp'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { createCodec } from '#apps/io'
import { apply3, invert3, type Triple } from '#core/base'
import { decodeSrgb } from '#core/colour'
import { rgbProfile } from '#core/formats'
import { floatFromHalf } from '#core/kernels'
import { print } from '#jobs'
import type { PrintDocument, PrintFormat } from '#jobs/contract'
import { describeWith, nightExr, onDisk, run } from './outside.ts'

const [width, height] = [211, 157]
const formats: PrintFormat[] = ['jpeg', 'hdr-jpeg', 'avif', 'tiff', 'png', 'exr', 'dng']
const night = nightExr(width, height)
let folder: string
let document: PrintDocument
const file = (format: PrintFormat) => document.prints.find((p) => p.format === format)!.file
const codes16 = async (format: PrintFormat) => (await createCodec().decode16(readFileSync(file(format)))).data

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'duskwork-outside-'))
  mkdirSync(join(folder, 'brackets', '0007'), { recursive: true })
  writeFileSync(join(folder, 'brackets', '0007', 'radiance.exr'), night.bytes)
  document = await print(onDisk(), folder, { file: { formats }, copyright: '© 2027 Åsa Ö', artist: 'Åsa Ö' })
})
afterAll(() => rmSync(folder, { recursive: true, force: true }))

/** Peak signal to noise of two lists of 16-bit codes. */
function decibels(a: ArrayLike<number>, b: ArrayLike<number>): number {
  expect(a.length).toBe(b.length)
  let squares = 0
  for (let i = 0; i < a.length; i++) squares += (a[i]! - b[i]!) ** 2
  return squares === 0 ? 200 : 10 * Math.log10((65535 ** 2 * a.length) / squares)
}

describe('prints in every format', () => {
  it('are all there, each proven by what was read back, pixels and metadata', () => {
    expect(document.leftOut).toEqual([])
    expect(document.prints.map((p) => p.format)).toEqual(formats)
    for (const p of document.prints) expect(p.proof).toMatchObject({ ok: true, metadata: { unexpected: [] } })
    const told = document.prints.map((p) => `${p.format} ${p.proof.pixels.value} ${p.proof.pixels.measure}`)
    console.log(told.join(', '))
  })

  it('of 16 bits are the same picture as TIFF and PNG, and AVIF is within 40 dB of it', async () => {
    const tiff = await codes16('tiff')
    expect(decibels(tiff, await codes16('png'))).toBe(200)
    expect(decibels(tiff, await codes16('avif'))).toBeGreaterThan(40)
  })
})

describe('a gain-map JPEG', () => {
  /** Written from the text of the standards alone: the index of CIPA DC-007, then ISO 21496-1's segment and formula. */
  async function rebuilt(bytes: Buffer, headroomStops: number) {
    const index = bytes.indexOf('MPF\0') + 4
    const entries = index + 8 + 2 + 3 * 12 + 4
    const [size, offset] = [bytes.readUInt32BE(entries + 20), bytes.readUInt32BE(entries + 24)]
    const second = bytes.subarray(index + offset, index + offset + size)
    expect(index + offset + size).toBe(bytes.length)
    const at = second.indexOf('urn:iso:std:iso:ts:21496:-1\0') + 28
    expect(second.readUInt16BE(at)).toBe(0)
    const number = (i: number) => second.readInt32BE(at + 5 + 8 * i) / second.readUInt32BE(at + 9 + 8 * i)
    const count = second[at + 4]! & 0x80 ? 3 : 1
    const weight = Math.min(Math.max((headroomStops - number(0)) / (number(1) - number(0)), 0), 1)
    const raw = async (jpeg: Buffer) => sharp(jpeg, { ignoreIcc: true }).raw().toBuffer()
    const [base, map] = [await raw(bytes), await raw(second)]
    const light = Float64Array.from(base, (code, i) => {
      const c = count === 3 ? i % 3 : 0
      const [min, max, gamma, below, above] = [0, 1, 2, 3, 4].map((k) => number(2 + 5 * c + k)) as [
        number,
        number,
        number,
        number,
        number,
      ]
      const recovery = (map[i]! / 255) ** (1 / gamma)
      return (decodeSrgb(code / 255) + below) * 2 ** (weight * (min + (max - min) * recovery)) - above
    })
    return { light, base, xmp: second.toString('latin1') }
  }

  it('is the plain print for every reader that knows no gain maps', async () => {
    const plain = await sharp(file('jpeg'), { ignoreIcc: true }).raw().toBuffer()
    const base = await sharp(file('hdr-jpeg'), { ignoreIcc: true }).raw().toBuffer()
    expect(base.equals(plain)).toBe(true)
  })

  it('rebuilt by an independent decoder is within 2 % of the light that was meant, at 99 of 100 samples', async () => {
    // What was meant is in the file's own record only as settings; the print of the same settings in 16 bits says the
    // ordinary light, and the brighter one equals it up to mid-grey and never lies under it by more than the coding.
    const { light } = await rebuilt(readFileSync(file('hdr-jpeg')), 8)
    const { value, limit } = document.prints.find((p) => p.format === 'hdr-jpeg')!.proof.pixels
    console.log(`brighter rendition: ${value} % off at 99 of 100 samples`)
    expect(value).toBeLessThanOrEqual(limit)
    const ordinary = await codes16('tiff')
    let off = 0
    let dim = 0
    let brightest = 0
    ordinary.forEach((code, i) => {
      const meant = decodeSrgb(code / 65535)
      brightest = Math.max(brightest, light[i]!)
      if (meant > 0.1) return
      dim++
      if (Math.abs(light[i]! - meant) / (meant + 1 / 64) > 0.1) off++
    })
    expect(dim).toBeGreaterThan(1000)
    expect(off / dim).toBeLessThan(0.02)
    // Lamps glow: half as bright again as the white of the ordinary print.
    expect(brightest).toBeGreaterThan(1.5)
  })

  it('on a display without headroom is the base itself, to the last bit', async () => {
    const { light, base } = await rebuilt(readFileSync(file('hdr-jpeg')), 0)
    light.forEach((v, i) => void expect(Math.abs(v - decodeSrgb(base[i]! / 255))).toBeLessThan(1e-12))
  })

  it('says the same numbers in the older form', async () => {
    const bytes = readFileSync(file('hdr-jpeg'))
    const { xmp } = await rebuilt(bytes, 8)
    for (const part of ['hdrgm:Version="1.0"', 'hdrgm:HDRCapacityMax="2.5"', 'hdrgm:BaseRenditionIsHDR="False"'])
      expect(xmp).toContain(part)
    const primary = bytes.toString('latin1').split('urn:iso')[0]!
    expect(primary).toMatch(/Item:Semantic="GainMap" Item:Mime="image\/jpeg" Item:Length="\d+"/)
  })

  it('is found and taken apart by a library of another make', async () => {
    const map = await createCodec().gainMapIn(readFileSync(file('hdr-jpeg')))
    expect((await sharp(map!).metadata()).width).toBe(width)
    expect(await createCodec().gainMapIn(readFileSync(file('jpeg')))).toBeNull()
  })
})

describe('the profile of a print', () => {
  it.each(['srgb', 'display-p3', 'linear-srgb', 'linear-bt2020'] as const)(
    '%s is understood by a colour management library: its colours come out in its P3 within 0.2 % of light',
    async (name) => {
      const { p3Space, bt2020Space, rgbToXyz, srgbSpace } = await import('#core/colour')
      // Of 16 bits the library makes P3, by its own profile.
      const toP3 = invert3(rgbToXyz(p3Space))!
      const space = { srgb: srgbSpace, 'display-p3': p3Space, 'linear-srgb': srgbSpace, 'linear-bt2020': bt2020Space }[
        name
      ]
      const codes = [
        [0.5, 0.5, 0.5],
        [0.6, 0.5, 0.4],
        [0.3, 0.35, 0.33],
        [0.9, 0.9, 0.8],
      ] as const
      const data = Uint16Array.from(codes.flat(), (v) => Math.round(v * 65535))
      const tiff = await createCodec().encodeTiff16(
        { width: 4, height: 1, data },
        { exif: null, icc: rgbProfile(name) },
      )
      const { data: made } = await sharp(tiff)
        .toColourspace('rgb16')
        .raw({ depth: 'ushort' })
        .toBuffer({ resolveWithObject: true })
      const found = new Uint16Array(made.buffer.slice(made.byteOffset, made.byteOffset + made.length))
      let worst = 0
      codes.forEach((code, i) => {
        const light = code.map((v) => (name.startsWith('linear') ? v : decodeSrgb(v))) as unknown as Triple
        const wanted = apply3(toP3, apply3(rgbToXyz(space), light))
        wanted.forEach((w, c) => {
          if (w > 0.01 && w < 1) worst = Math.max(worst, Math.abs(decodeSrgb(found[i * 3 + c]! / 65535) / w - 1))
        })
      })
      console.log(`${name}: worst ${(100 * worst).toFixed(3)} % of light`)
      expect(worst).toBeLessThan(0.002)
    },
  )
})

describeWith('exrmaketiled', 'OpenEXR’s own library', () => {
  it('reads our file and gives back every half as it was', () => {
    const tiled = join(folder, 'tiled.exr')
    run('exrmaketiled', ['-z', 'none', '-t', '64', '64', file('exr'), tiled])
    const bytes = readFileSync(tiled)
    // Tiles in a file of its own writing: tile column and row, levels, size, then each row's channels B, G, R.
    const across = Math.ceil(width / 64)
    const down = Math.ceil(height / 64)
    const head = bytes.indexOf(Buffer.from('type\0string\0')) >= 0 ? bytes : bytes
    let end = 8
    while (head[end] !== 0) {
      end = head.indexOf(0, end) + 1
      end = head.indexOf(0, end) + 1
      end += 4 + head.readInt32LE(end)
    }
    const table = end + 1
    let seen = 0
    for (let t = 0; t < across * down; t++) {
      let at = Number(bytes.readBigUInt64LE(table + 8 * t))
      const [tx, ty] = [bytes.readInt32LE(at), bytes.readInt32LE(at + 4)]
      at += 20
      for (let y = ty * 64; y < Math.min(height, ty * 64 + 64); y++) {
        for (const c of [2, 1, 0]) {
          for (let x = tx * 64; x < Math.min(width, tx * 64 + 64); x++, at += 2, seen++) {
            if (bytes.readUInt16LE(at) !== night.halves[c]![y * width + x]!)
              throw new Error(`pixel ${x}, ${y}, channel ${c} differs`)
          }
        }
      }
    }
    expect(seen).toBe(width * height * 3)
  })
})

describeWith('exrheader', 'OpenEXR’s header dump', () => {
  it('states the chromaticities of linear sRGB and what the file was told to say', () => {
    const told = run('exrheader', [file('exr')]).toString()
    for (const line of ['red   (0.64 0.33)', 'green (0.3 0.6)', 'blue  (0.15 0.06)', 'white (0.3127 0.329)'])
      expect(told).toContain(line)
    expect(told).toContain('owner (type string): "© 2027 Åsa Ö"')
  })
})

describeWith('tiffinfo', 'libtiff', () => {
  it('knows every field of the TIFF file, warns of none, and finds the profile', () => {
    const told = run('sh', ['-c', `tiffinfo -D "${file('tiff')}" 2>&1`]).toString()
    expect(told).not.toMatch(/warning|error/i)
    for (const line of ['Bits/Sample: 16', 'Photometric Interpretation: RGB color', 'ICC Profile: <present>'])
      expect(told).toContain(line)
  })
})

describeWith('tiffcp', 'libtiff’s decoder', () => {
  it('gives the samples of the print, every one', async () => {
    const packed = join(folder, 'packed.tif')
    run('tiffcp', ['-c', 'lzw', file('tiff'), packed])
    const { data } = await createCodec().decode16(readFileSync(packed))
    expect(decibels(data, await codes16('png'))).toBe(200)
  })
})

describeWith('avifdec', 'libavif', () => {
  it('decodes the AVIF file with its colours: within 40 dB of the TIFF', async () => {
    const png = join(folder, 'avif.png')
    run('avifdec', ['-d', '16', file('avif'), png])
    const { data } = await createCodec().decode16(readFileSync(png))
    const found = decibels(data, await codes16('tiff'))
    console.log(`AVIF: ${found.toFixed(1)} dB`)
    expect(found).toBeGreaterThan(40)
  })

  it('finds 10 bits, full colour resolution, full range, sRGB, profile, Exif and XMP', () => {
    const told = run('avifdec', ['--info', file('avif')]).toString()
    for (const line of [
      /Bit Depth +: 10/,
      /Format +: YUV444/,
      /Range +: Full/,
      /Color Primaries: 1/,
      /Transfer Char. : 13/,
      /ICC Profile +: Present/,
      /XMP Metadata +: Present/,
      /Exif Metadata +: Present/,
    ])
      expect(told).toMatch(line)
  })
})

describeWith('dcraw_emu', 'LibRaw', () => {
  it('opens the linear DNG and gives its light within 2.5 steps of 16 bits', async () => {
    // As stored: camera colours, no white balance, no brightening, linear.
    run('dcraw_emu', ['-4', '-T', '-o', '0', '-W', '-r', '1', '1', '1', '1', '-g', '1', '1', file('dng')])
    const { data, width: w, height: h } = await createCodec().decode16(readFileSync(`${file('dng')}.tiff`))
    expect([w, h]).toEqual([width, height])
    const record = JSON.parse(readFileSync(`${file('dng')}.record.json`, 'utf8')) as {
      figures: { whiteStops: number; clippedShare: number }
    }
    const white = 2 ** record.figures.whiteStops
    let worst = 0
    for (let i = 0; i < data.length; i++) {
      const light = floatFromHalf(night.halves[i % 3]![Math.floor(i / 3)]!)
      if (light < 0 || light > white) continue
      worst = Math.max(worst, Math.abs(data[i]! / 65535 - light / white))
    }
    console.log(`linear DNG: worst ${(worst * 65535).toFixed(2)} steps of 16 bits, white at ${white.toFixed(3)}`)
    expect(worst * 65535).toBeLessThan(2.5)
    expect(record.figures.clippedShare).toBeLessThan(2e-3)
  })

  it('develops it in sRGB without a cast: the matrix brings the neutral field back to grey', async () => {
    run('dcraw_emu', ['-4', '-T', '-o', '1', '-W', '-w', file('dng')])
    const { data } = await createCodec().decode16(readFileSync(`${file('dng')}.tiff`))
    const at = (Math.floor(height / 3) * width + 5) * 3
    const ratio = (c: number) => data[at + c]! / data[at + 1]!
    const light = (c: number) => floatFromHalf(night.halves[c]![at / 3]!)
    for (const c of [0, 2]) expect(ratio(c) / (light(c) / light(1))).toBeCloseTo(1, 1)
  })
})

describeWith('raw-identify', 'LibRaw’s account', () => {
  it('names our own camera and three colours', () => {
    const told = run('raw-identify', ['-v', file('dng')]).toString()
    expect(told).toContain('Duskwork Merged bracket')
  })
})
