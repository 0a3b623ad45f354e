import { describe, expect, it } from 'vitest'
import { Failure, seededRandom } from '#core/base'
import { type DngPacking, writeDng } from '#core/formats'
import type { Crew } from '#core/kernels'
import { decodeRawBytes, describeRaw, describeRendered, rawTasks, sniff } from '#picture/raw'
import { testCrew } from '../kernels.ts'

/** Small raw files of every packing, in both byte orders. */
const kinds: [string, DngPacking, number][] = [
  ['words', { kind: 'words' }, 16],
  ['packed 12', { kind: 'packed' }, 12],
  ['packed 14', { kind: 'packed' }, 14],
  ['lossless JPEG', { kind: 'lossless-jpeg', tile: 16 }, 14],
  ['deflate', { kind: 'deflate', tile: 16 }, 16],
]

const WIDTH = 40
const HEIGHT = 24
const SECONDS = 2
const MEGABYTE = 1024 * 1024

function smallFile(packing: DngPacking, bitsPerSample: number, littleEndian: boolean): Uint8Array {
  const random = seededRandom(11)
  const mosaic = Uint16Array.from(
    { length: WIDTH * HEIGHT },
    (_, i) => 256 + (i % WIDTH) * 8 + Math.floor(random.uniform() * 64),
  )
  return writeDng({
    ...{ width: WIDTH, height: HEIGHT, mosaic, bitsPerSample, packing, littleEndian },
    cfa: [0, 1, 1, 2],
    black: { repeatRows: 2, repeatColumns: 2, values: [64, 65, 66, 67] },
    white: 2 ** bitsPerSample - 1,
    activeArea: { x: 2, y: 2, width: 36, height: 20 },
    crop: { x: 2, y: 2, width: 32, height: 16 },
    ...{ exposureSeconds: 0.5, iso: 100, fNumber: 1.7, focalLengthMillimetres: 6.72 },
    takenAt: { camera: '2027-02-09T17:45:30', subSecond: 0.25, offsetMinutes: 60 },
    make: 'Maker',
    model: 'Model',
    noise: [{ scale: 1e-4, offset: 1e-8 }],
    colour: { illuminant1: 17, colorMatrix1: [1, 0, 0, 0, 1, 0, 0, 0, 1], asShotNeutral: [0.5, 1, 0.6] },
    opcodeLists: { 3: vignette },
  })
}

/** A list of one FixVignetteRadial, big-endian: count; id, version, flags, length; seven doubles of zero. */
const vignette = Uint8Array.from([
  0,
  0,
  0,
  1,
  0,
  0,
  0,
  3,
  1,
  3,
  0,
  0,
  0,
  0,
  0,
  1,
  0,
  0,
  0,
  56,
  ...new Array(56).fill(0),
])

const originals = kinds.flatMap(([name, packing, bits]) =>
  [true, false].map((little) => ({
    name: `${name}, ${little ? 'little' : 'big'}-endian`,
    bytes: smallFile(packing, bits, little),
  })),
)

/** Pictures that damage has made larger than this are described but not decoded: their memory is not laid out here. */
const MOST_SAMPLES = 8 * MEGABYTE

class Trial {
  refused = 0
  decoded = 0
  slowest = 0
  mostGrownBytes = 0
  readonly codes = new Set<string>()
  readonly #crew: Crew
  readonly #bytesBefore = memoryNow()

  constructor(crew: Crew) {
    this.#crew = crew
  }

  /** Describes and decodes; anything thrown but a Failure goes on up. */
  async run(bytes: Uint8Array): Promise<void> {
    const start = performance.now()
    const mark = this.#crew.arena.mark()
    try {
      sniff(bytes)
      const raw = describeRaw(bytes)
      const samples = raw.width * raw.height * raw.samplesPerPixel
      if (samples <= MOST_SAMPLES) {
        await decodeRawBytes(this.#crew, raw, bytes, this.#crew.arena.alloc(2 * samples))
        this.decoded++
      }
    } catch (error) {
      if (!(error instanceof Failure)) throw error
      this.refused++
      this.codes.add(error.code)
    } finally {
      this.#crew.arena.release(mark)
      this.slowest = Math.max(this.slowest, (performance.now() - start) / 1000)
      this.mostGrownBytes = Math.max(this.mostGrownBytes, memoryNow() - this.#bytesBefore)
    }
  }

  report(what: string): void {
    console.log(
      `${what}: ${this.refused} refused by ${this.codes.size} codes, ${this.decoded} decoded; slowest ${this.slowest.toFixed(3)} s, memory ${(this.mostGrownBytes / MEGABYTE).toFixed(0)} MB`,
    )
  }
}

const trial = (kernels: 'simd' | 'plain') => new Trial(testCrew(rawTasks, 2 * MOST_SAMPLES + 64 * MEGABYTE, kernels))

function memoryNow(): number {
  const { heapUsed, arrayBuffers } = process.memoryUsage()
  return heapUsed + arrayBuffers
}

/** Overwrites, flips or inserts a few bytes; three times in four among the header's, where each counts most. */
function damaged(original: Uint8Array, random: ReturnType<typeof seededRandom>, headerBytes: number): Uint8Array {
  const pick = (n: number) => Math.floor(random.uniform() * n)
  let bytes = original.slice()
  for (let changes = 1 + pick(4); changes > 0; changes--) {
    const at = pick(4) < 3 ? pick(Math.min(headerBytes, bytes.length)) : pick(bytes.length)
    const kind = pick(5)
    if (kind === 0) bytes[at]! ^= 1 << pick(8)
    else if (kind === 1) bytes[at] = pick(256)
    else if (kind === 2) bytes[at] = [0, 1, 0x7f, 0x80, 0xff][pick(5)]!
    else if (kind === 3) bytes.fill(pick(2) * 255, at, at + 1 + pick(8))
    else
      bytes = Uint8Array.from([
        ...bytes.subarray(0, at),
        ...Array.from({ length: 1 + pick(6) }, () => pick(256)),
        ...bytes.subarray(at),
      ])
  }
  return bytes
}

describe('a damaged raw file fails by name, soon, and in little memory', () => {
  it.each(originals)('whole, it is decoded: $name', async ({ bytes }) => {
    const whole = trial('simd')
    await whole.run(bytes)
    expect([whole.decoded, whole.refused]).toEqual([1, 0])
  })

  it.each(originals)('cut at every byte: $name', async ({ name, bytes }) => {
    const cut = trial('simd')
    for (let length = 0; length < bytes.length; length++) await cut.run(bytes.subarray(0, length))
    cut.report(`cut at every byte, ${name}`)
    // The last byte may be filling; anything shorter has lost samples.
    expect(cut.refused).toBeGreaterThanOrEqual(bytes.length - 1)
    expect(cut.slowest).toBeLessThan(SECONDS)
    expect(cut.mostGrownBytes).toBeLessThan(200 * MEGABYTE)
  })

  it.each(['simd', 'plain'] as const)('5,000 times damaged, %s kernels', async (kernels) => {
    const random = seededRandom(kernels === 'simd' ? 2027 : 2028)
    const runs = trial(kernels)
    for (let i = 0; i < 5000; i++) {
      const { bytes } = originals[i % originals.length]!
      await runs.run(damaged(bytes, random, 1400))
    }
    runs.report(`5,000 times damaged, ${kernels}`)
    expect(runs.refused).toBeGreaterThan(1000)
    expect(runs.decoded).toBeGreaterThan(500)
    expect(runs.slowest).toBeLessThan(SECONDS)
    expect(runs.mostGrownBytes).toBeLessThan(200 * MEGABYTE)
  })
})

describe('a damaged JPEG file fails by name, or gives its facts', () => {
  const exif = originals[3]!.bytes
  const segment = (marker: number, body: readonly number[]) => [
    0xff,
    marker,
    (body.length + 2) >> 8,
    (body.length + 2) & 255,
    ...body,
  ]
  const xmp = [...Buffer.from('http://ns.adobe.com/xap/1.0/\0<x><d a:RelativeAltitude="+40.10"/></x>')]
  const jpeg = Uint8Array.from([
    ...[0xff, 0xd8],
    ...segment(0xe1, [...Buffer.from('Exif\0\0'), ...exif.subarray(0, 3000)]),
    ...segment(0xe1, xmp),
    ...segment(0xc0, [8, 0, 60, 0, 80, 3, 1, 0x22, 0, 2, 0x11, 1, 3, 0x11, 1]),
    ...[0xff, 0xda, 0, 12, 3, 1, 0, 2, 0x11, 3, 0x11, 0, 63, 0],
  ])

  it('whole, it gives them', () => {
    expect(describeRendered(jpeg)).toMatchObject({
      width: 80,
      exposureSeconds: 0.5,
      attitude: { relativeHeightMetres: 40.1 },
    })
  })

  it('cut at every byte and 5,000 times damaged, nothing but Failures comes out', () => {
    const random = seededRandom(2029)
    let refused = 0
    let described = 0
    const run = (bytes: Uint8Array) => {
      try {
        sniff(bytes)
        describeRendered(bytes)
        described++
      } catch (error) {
        if (!(error instanceof Failure)) throw error
        refused++
      }
    }
    for (let length = 0; length < jpeg.length; length++) run(jpeg.subarray(0, length))
    for (let i = 0; i < 5000; i++) run(damaged(jpeg, random, jpeg.length))
    console.log(`damaged JPEG files: ${refused} refused, ${described} described`)
    expect(refused).toBeGreaterThan(jpeg.length)
    expect(described).toBeGreaterThan(1000)
  })
})
