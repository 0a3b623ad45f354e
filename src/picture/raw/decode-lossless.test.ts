import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { Failure, seededRandom } from '#core/base'
import { encodeLosslessJpeg } from '#core/formats'
import { testCrew } from '../../../test/kernels.ts'
import { type StreamShape, slowLosslessJpeg } from '../../../test/lossless-jpeg.ts'
import { rawFile, tiled } from '../../../test/raw-file.ts'
import { decodeMany, decodeRawBytes, rawTasks } from './decode.ts'
import type { RawFile } from './types.ts'

const crews = [testCrew(rawTasks, 4 << 20, 'plain'), testCrew(rawTasks, 4 << 20, 'simd')]
const categories = Array.from({ length: 17 }, (_, k) => k)

/** How a tile's samples lie in its JPEG: any width, height and components of the same number of samples. */
const anyFile = fc
  .record({
    columns: fc.integer({ min: 1, max: 12 }),
    rows: fc.integer({ min: 1, max: 4 }),
    across: fc.integer({ min: 1, max: 3 }),
    down: fc.integer({ min: 1, max: 3 }),
    cutColumns: fc.nat(5),
    cutRows: fc.nat(3),
    samplesPerPixel: fc.constantFrom(1 as const, 3 as const),
    shape: fc.constantFrom(
      'plain',
      'two components',
      'two rows in one line',
      'one row in two lines',
      'four components',
    ),
    precision: fc.integer({ min: 2, max: 16 }),
    predictor: fc.integer({ min: 1, max: 7 }),
    pointTransform: fc.nat(15),
    restartLines: fc.nat(3),
    order: fc.shuffledSubarray(categories, { minLength: 17, maxLength: 17 }),
    seed: fc.nat(1e6),
    curve: fc.boolean(),
  })
  .map((r) => {
    const tileWidth = 4 * r.columns
    const tileHeight = 2 * r.rows
    const n = r.samplesPerPixel
    const [width, height, components] = {
      plain: [tileWidth, tileHeight, n],
      'two components': [(tileWidth / 2) * n, tileHeight, 2],
      'two rows in one line': [tileWidth * n * 2, tileHeight / 2, 1],
      'one row in two lines': [(tileWidth * n) / 2, tileHeight * 2, 1],
      'four components': [(tileWidth / 4) * n, tileHeight, 4],
    }[r.shape] as [number, number, number]
    const pointTransform = Math.min(r.pointTransform, r.precision - 1)
    const { precision, predictor, restartLines } = r
    const codeOrders = Array.from({ length: components }, () => r.order)
    const stream: StreamShape = {
      width,
      height,
      components,
      precision,
      predictor,
      pointTransform,
      restartLines,
      codeOrders,
    }
    const picture = {
      width: Math.max(1, tileWidth * r.across - r.cutColumns),
      height: Math.max(1, tileHeight * r.down - r.cutRows),
      samplesPerPixel: n,
      samples: new Uint16Array(0),
    }
    const random = seededRandom(r.seed)
    picture.samples = Uint16Array.from({ length: picture.width * picture.height * n }, (_, i) => {
      const near = 2 ** (precision - 1) + 3 * random.normal()
      const value = i % 7 === 0 ? random.uniform() * 2 ** precision : Math.min(Math.max(near, 0), 2 ** precision - 1)
      return (value >> pointTransform) << pointTransform
    })
    const file = tiled(picture, tileWidth, tileHeight, (samples) => slowLosslessJpeg(samples, stream))
    const linearisation = r.curve ? Uint16Array.from({ length: 900 }, (_, i) => 65535 - i * i * 0.08) : null
    const { segments } = file
    const raw = rawFile({
      ...picture,
      samples: 'cfa',
      segments,
      packing: 'lossless-jpeg',
      compression: 7,
      linearisation,
    })
    const expected = picture.samples.map((v) => (linearisation ? linearisation[Math.min(v, 899)]! : v))
    return { raw, bytes: file.bytes, expected }
  })

const sizeOf = (raw: RawFile) => raw.width * raw.height * raw.samplesPerPixel

describe('tiles of lossless JPEG', () => {
  it('become the picture whatever the folding, components, predictor, restarts, point transform and clipping', async () => {
    await fc.assert(
      fc.asyncProperty(anyFile, async ({ raw, bytes, expected }) => {
        for (const crew of crews) {
          const mark = crew.arena.mark()
          const at = crew.arena.alloc(2 * sizeOf(raw))
          const after = crew.arena.u16(at + 2 * sizeOf(raw), 24).fill(0xabcd)
          await decodeRawBytes(crew, raw, bytes, at)
          expect(crew.arena.u16(at, sizeOf(raw))).toEqual(expected)
          expect(after.every((v) => v === 0xabcd)).toBe(true)
          crew.arena.release(mark)
        }
      }),
      { numRuns: 300 },
    )
  })

  it('of several frames decode in one step, and the memory used on the way is given back', async () => {
    await fc.assert(
      fc.asyncProperty(fc.array(anyFile, { minLength: 1, maxLength: 4 }), async (files) => {
        const crew = crews[1]!
        const mark = crew.arena.mark()
        const jobs = files.map(({ raw, bytes }) => {
          const fileAt = crew.arena.alloc(bytes.length)
          crew.arena.u8(fileAt, bytes.length).set(bytes)
          return { raw, fileAt, fileBytes: bytes.length, destination: crew.arena.alloc(2 * sizeOf(raw)) }
        })
        const before = crew.arena.mark()
        await decodeMany(crew, jobs)
        expect(crew.arena.mark()).toBe(before)
        files.forEach(({ raw, expected }, i) => {
          expect(crew.arena.u16(jobs[i]!.destination, sizeOf(raw))).toEqual(expected)
        })
        crew.arena.release(mark)
      }),
      { numRuns: 50 },
    )
  })

  it('that are cut or overwritten give failures only, and nothing outside the picture is written', async () => {
    const anyDamage = fc.record({
      cut: fc.double({ min: 0, max: 1, noNaN: true }),
      noise: fc.array(fc.tuple(fc.double({ min: 0, max: 1, noNaN: true }), fc.nat(255)), { maxLength: 12 }),
      whole: fc.boolean(),
    })
    const outcomes = { read: 0, failed: 0 }
    await fc.assert(
      fc.asyncProperty(anyFile, anyDamage, async ({ raw, bytes }, { cut, noise, whole }) => {
        const damaged = bytes.slice()
        for (const [where, value] of noise) damaged[Math.floor(where * (damaged.length - 1))] = value
        const segments = raw.segments.map((s) => ({
          ...s,
          byteCount: whole ? s.byteCount : Math.floor(s.byteCount * cut),
        }))
        const results: (string | number[])[] = []
        for (const crew of crews) {
          const mark = crew.arena.mark()
          const guard = crew.arena.u8(crew.arena.alloc(64), 64).fill(0x5a)
          const at = crew.arena.alloc(2 * sizeOf(raw))
          const after = crew.arena.u8(at + 2 * sizeOf(raw), 48).fill(0x5a)
          try {
            await decodeRawBytes(crew, { ...raw, segments }, damaged, at)
            results.push([...crew.arena.u16(at, sizeOf(raw))])
            outcomes.read++
          } catch (error) {
            if (!(error instanceof Failure)) throw error
            expect(error.facts['segment']).toBeGreaterThanOrEqual(0)
            results.push(`${error.kind} ${error.code}`)
            outcomes.failed++
          }
          expect(guard.every((v) => v === 0x5a) && after.every((v) => v === 0x5a)).toBe(true)
          crew.arena.release(mark)
        }
        expect(results[0]).toEqual(results[1])
      }),
      { numRuns: 500 },
    )
    console.log(`damaged tiles: ${outcomes.read} read, ${outcomes.failed} failed by name`)
    expect(Math.min(outcomes.read, outcomes.failed)).toBeGreaterThan(20)
  })

  it('name a stream that runs out, with the segment and the line', async () => {
    const picture = {
      width: 64,
      height: 64,
      samplesPerPixel: 1 as const,
      samples: new Uint16Array(4096).map((_, i) => i),
    }
    const file = tiled(picture, 64, 32, (s) => encodeLosslessJpeg(s, 32, 32, 2, 12))
    const segments = file.segments.map((s, i) => (i === 1 ? { ...s, byteCount: s.byteCount - 300 } : s))
    const raw = rawFile({ width: 64, height: 64, segments, packing: 'lossless-jpeg' })
    for (const crew of crews) {
      const decoding = decodeRawBytes(crew, raw, file.bytes, crew.arena.alloc(8192))
      await expect(decoding).rejects.toMatchObject({ kind: 'malformed', code: 'jpeg-data-ends' })
    }
  })

  it('may be one strip larger than any scratch, folded or not', async () => {
    const [width, height] = [4096, 3200]
    const random = seededRandom(5)
    const samples = Uint16Array.from({ length: width * height }, () => 500 + random.uniform() * 90)
    const crew = testCrew(rawTasks, 96 << 20)
    for (const [w, h, components] of [
      [width / 2, height, 2],
      [2 * width, height / 2, 1],
    ] as const) {
      const mark = crew.arena.mark()
      const bytes = encodeLosslessJpeg(samples, w, h, components, 12)
      const segments = [{ x: 0, y: 0, width, height, offset: 0, byteCount: bytes.length }]
      const at = crew.arena.alloc(2 * width * height)
      await decodeRawBytes(crew, rawFile({ width, height, segments, packing: 'lossless-jpeg' }), bytes, at)
      expect(Buffer.compare(crew.arena.u8(at, 2 * width * height), new Uint8Array(samples.buffer))).toBe(0)
      crew.arena.release(mark)
    }
  })
})
