import { deflateSync } from 'node:zlib'
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { Failure, seededRandom } from '#core/base'
import { testCrew } from '../../../test/kernels.ts'
import { rawFile, tiled } from '../../../test/raw-file.ts'
import { decodeRawBytes, rawTasks } from './decode.ts'
import type { RawFile } from './types.ts'

const crews = [testCrew(rawTasks, 8 << 20, 'plain'), testCrew(rawTasks, 8 << 20, 'simd')]
const sizeOf = (raw: RawFile) => raw.width * raw.height * raw.samplesPerPixel

async function decoded(raw: RawFile, bytes: Uint8Array, crew = crews[1]!): Promise<Uint16Array> {
  const mark = crew.arena.mark()
  try {
    const at = crew.arena.alloc(2 * sizeOf(raw))
    await decodeRawBytes(crew, raw, bytes, at)
    return crew.arena.u16(at, sizeOf(raw)).slice()
  } finally {
    crew.arena.release(mark)
  }
}

async function refusal(raw: RawFile, bytes: Uint8Array): Promise<string> {
  try {
    await decoded(raw, bytes)
  } catch (error) {
    if (error instanceof Failure) return `${error.kind} ${error.code}`
    throw error
  }
  return 'read'
}

/** Rows of samples as bytes: whole bytes and words in the file's order, other widths from the highest bit. */
function packRows(samples: Uint16Array, rowSamples: number, bits: number, littleEndian: boolean): Uint8Array {
  const out: number[] = []
  for (let at = 0; at < samples.length; at += rowSamples) {
    const row = [...samples.subarray(at, at + rowSamples)]
    if (bits === 16 && littleEndian) out.push(...row.flatMap((v) => [v & 255, v >> 8]))
    else {
      const digits = row.map((v) => v.toString(2).padStart(bits, '0')).join('')
      for (let i = 0; i < digits.length; i += 8) out.push(Number.parseInt(digits.slice(i, i + 8).padEnd(8, '0'), 2))
    }
  }
  return Uint8Array.from(out)
}

/** TIFF 6.0 section 14 on one tile: every sample less the same plane's sample to its left. */
function differenced(samples: Uint16Array, rowSamples: number, step: number, bits: number): Uint16Array {
  return samples.map((v, i) => (i % rowSamples < step ? v : v - samples[i - step]!) & (2 ** bits - 1))
}

const anyPicture = fc
  .record({
    width: fc.integer({ min: 1, max: 60 }),
    height: fc.integer({ min: 1, max: 20 }),
    samplesPerPixel: fc.constantFrom(1 as const, 3 as const),
    bitsPerSample: fc.integer({ min: 8, max: 16 }),
    tileWidth: fc.integer({ min: 1, max: 70 }),
    tileHeight: fc.integer({ min: 1, max: 24 }),
    littleEndian: fc.boolean(),
    curve: fc.boolean(),
    seed: fc.nat(1e6),
  })
  .map((r) => {
    const random = seededRandom(r.seed)
    const length = r.width * r.height * r.samplesPerPixel
    const samples = Uint16Array.from({ length }, () => random.uniform() * 2 ** r.bitsPerSample)
    const linearisation = r.curve ? Uint16Array.from({ length: 300 }, (_, i) => 7 + 200 * i) : null
    const expected = samples.map((v) => (linearisation ? linearisation[Math.min(v, 299)]! : v))
    return { ...r, samples, linearisation, expected }
  })

describe('uncompressed and deflated samples', () => {
  it('become the picture for 8 to 16 bits, both byte orders, any tiles, with and without linearisation', async () => {
    await fc.assert(
      fc.asyncProperty(anyPicture, async (p) => {
        const row = p.tileWidth * p.samplesPerPixel
        const file = tiled(p, p.tileWidth, p.tileHeight, (s) => packRows(s, row, p.bitsPerSample, p.littleEndian))
        for (const crew of crews)
          expect(await decoded(rawFile({ ...p, samples: 'cfa', ...file }), file.bytes, crew)).toEqual(p.expected)
      }),
      { numRuns: 200 },
    )
  })

  it('become the picture from zlib streams, with horizontal differencing of bytes and words', async () => {
    await fc.assert(
      fc.asyncProperty(anyPicture, fc.boolean(), async (p, differencing) => {
        const bits = p.bitsPerSample
        const predictor = differencing && bits % 8 === 0 ? 2 : 1
        const row = p.tileWidth * p.samplesPerPixel
        const file = tiled(p, p.tileWidth, p.tileHeight, (s) => {
          const stored = predictor === 2 ? differenced(s, row, p.samplesPerPixel, bits) : s
          return new Uint8Array(deflateSync(packRows(stored, row, bits, p.littleEndian)))
        })
        const raw = rawFile({ ...p, samples: 'cfa', ...file, packing: 'deflate', compression: 8, predictor })
        for (const crew of crews) expect(await decoded(raw, file.bytes, crew)).toEqual(p.expected)
      }),
      { numRuns: 200 },
    )
  })

  it('of one strip of several megabytes are shared out by rows', async () => {
    const [width, height] = [1500, 1000]
    const samples = Uint16Array.from({ length: width * height }, (_, i) => (i * 40503) >> 7)
    const bytes = new Uint8Array(samples.buffer)
    const segments = [{ x: 0, y: 0, width, height, offset: 0, byteCount: bytes.length }]
    let items = 0
    const crew = crews[1]!
    const run = (task: string, params: object, count: number) => {
      items = count
      return crew.run(task, params, count)
    }
    const counting = { ...crew, run }
    expect(
      Buffer.compare(Buffer.from((await decoded(rawFile({ width, height, segments }), bytes, counting)).buffer), bytes),
    ).toBe(0)
    expect(items).toBe(3)
  })

  it('are refused by name when strips are short, outside the file or the picture, missing, or of an unknown kind', async () => {
    const strip = { x: 0, y: 0, width: 4, height: 2, offset: 0, byteCount: 16 }
    const raw = rawFile({ width: 4, height: 2, segments: [strip] })
    const bytes = new Uint8Array(16)
    const changed = (over: Partial<RawFile>) => refusal({ ...raw, ...over }, bytes)
    expect(await changed({})).toBe('read')
    expect(await changed({ segments: [{ ...strip, byteCount: 15 }] })).toBe('malformed segment-short')
    expect(await changed({ segments: [{ ...strip, offset: 1 }] })).toBe('malformed segment-outside-file')
    expect(await changed({ segments: [{ ...strip, x: 4 }] })).toBe('malformed segment-outside-picture')
    expect(await changed({ segments: [{ ...strip, y: 1 }] })).toBe('malformed segments-incomplete')
    expect(await changed({ segments: [] })).toBe('malformed segments-incomplete')
    const rows = Array.from({ length: 8 }, (_, i) => ({ ...strip, y: i, height: 1 }))
    expect(await changed({ height: 8, segments: rows })).toBe('limit segments-overlap')
    expect(await changed({ bitsPerSample: 24 })).toBe('unsupported raw-bits')
    expect(await changed({ packing: 'deflate', predictor: 3 })).toBe('unsupported raw-predictor')
    expect(await changed({ packing: 'deflate', predictor: 2, bitsPerSample: 12 })).toBe('unsupported raw-predictor')
    expect(await changed({ packing: 'deflate' })).toBe('malformed deflate-damaged')
    const deflated = async (content: Uint8Array) => {
      const stream = new Uint8Array(deflateSync(content))
      return refusal({ ...raw, packing: 'deflate', segments: [{ ...strip, byteCount: stream.length }] }, stream)
    }
    expect(await deflated(new Uint8Array(16))).toBe('read')
    expect(await deflated(new Uint8Array(15))).toBe('malformed segment-short')
    expect(await deflated(new Uint8Array(50 << 20))).toBe('limit deflate-output')
  })
})
