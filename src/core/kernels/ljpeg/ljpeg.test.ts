import { readFileSync } from 'node:fs'
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { bothKernels } from '../../../../test/kernels.ts'
import {
  KERNEL_LINES_BYTES,
  kernelLines,
  kernelLinesOfTwo,
  type StreamShape,
  slowLosslessJpeg,
} from '../../../../test/lossless-jpeg.ts'
import { LJPEG_TABLE_BYTES } from './ljpeg.ts'

interface Vector {
  readonly pixels: number[][]
  readonly jpeg_hex: string
}
const vectors: Record<string, Vector> = JSON.parse(
  readFileSync(new URL('../../../../truth/lossless-jpeg/vectors.json', import.meta.url), 'utf8'),
)
const { memory, plain, simd } = bothKernels(16 << 20)
const sets = [
  ['plain', plain],
  ['simd', simd],
] as const
const AT = 1 << 20

const categories = Array.from({ length: 17 }, (_, k) => k)
const anyOrder = fc.shuffledSubarray(categories, { minLength: 17, maxLength: 17 })

/** Streams without restart markers or point transform, and their samples. */
const anyStream = (components?: number) =>
  fc
    .record({
      width: fc.integer({ min: 1, max: 40 }),
      height: fc.integer({ min: 1, max: 6 }),
      components: components ? fc.constant(components) : fc.integer({ min: 1, max: 4 }),
      precision: fc.integer({ min: 2, max: 16 }),
      predictor: fc.integer({ min: 1, max: 7 }),
      pointTransform: fc.constant(0),
      restartLines: fc.constant(0),
      codeOrders: fc.array(anyOrder, { minLength: 4, maxLength: 4 }),
    })
    .map((s): StreamShape => ({ ...s, codeOrders: s.codeOrders.slice(0, s.components) }))

/** Samples that stay near each other, with a jump now and then. */
function samplesFor(s: StreamShape, steps: readonly number[]): number[] {
  const top = 2 ** s.precision
  let value = top / 2
  return Array.from({ length: s.width * s.height * s.components }, (_, i) => {
    value = (((value + steps[i % steps.length]!) % top) + top) % top
    return value
  })
}
const anySteps = fc.array(fc.oneof(fc.integer({ min: -9, max: 9 }), fc.integer({ min: -65535, max: 65535 })), {
  minLength: 1,
  maxLength: 50,
})

describe('lossless JPEG lines', () => {
  for (const [name, kernels] of sets)
    it.each(Object.entries(vectors))(`are those of an independent encoder with ${name} kernels: %s`, (_, vector) => {
      const { lines, samples } = kernelLines(memory, kernels, Uint8Array.from(Buffer.from(vector.jpeg_hex, 'hex')), AT)
      expect(lines).toBeGreaterThan(0)
      expect([...samples]).toEqual(vector.pixels.flat())
    })

  for (const [name, kernels] of sets)
    it(`come back for 1 to 4 components, all predictors, 2 to 16 bits and codes of every length, with ${name} kernels`, () => {
      fc.assert(
        fc.property(anyStream(), anySteps, (shape, steps) => {
          const samples = samplesFor(shape, steps)
          const found = kernelLines(memory, kernels, slowLosslessJpeg(samples, shape), AT)
          expect(found.lines).toBe(shape.height)
          expect([...found.samples]).toEqual(samples)
        }),
        { numRuns: 300 },
      )
    })

  for (const [name, kernels] of sets)
    it(`come back from two streams at once with ${name} kernels`, () => {
      fc.assert(
        fc.property(anyStream(2), anyOrder, anySteps, anySteps, (shape, order, stepsA, stepsB) => {
          const a = samplesFor(shape, stepsA)
          const b = samplesFor(shape, stepsB)
          const streams = [
            slowLosslessJpeg(a, shape),
            slowLosslessJpeg(b, { ...shape, codeOrders: [order, shape.codeOrders[0]!] }),
          ] as const
          const found = kernelLinesOfTwo(memory, kernels, streams, AT)
          expect(found.lines).toBe(shape.height)
          expect(found.samples.map((s) => [...s])).toEqual([a, b])
        }),
        { numRuns: 200 },
      )
    })

  it('end where the stream is cut, alike in both kernels, and leave what lies after them alone', () => {
    let cutShort = 0
    fc.assert(
      fc.property(anyStream(), anySteps, fc.double({ min: 0, max: 1, noNaN: true }), (shape, steps, keep) => {
        const whole = slowLosslessJpeg(samplesFor(shape, steps), shape)
        const header = whole.length - 2 - dataBytes(whole)
        const cut = whole.slice(0, header + Math.floor(keep * dataBytes(whole)))
        const guard = AT + 65536 + 2 * shape.width * shape.height * shape.components
        const [a, b] = sets.map(([, kernels]) => {
          memory.u8(guard, 64).fill(0xa5)
          const { lines } = kernelLines(memory, kernels, cut, AT)
          expect(memory.u8(guard, 64).every((v) => v === 0xa5)).toBe(true)
          return lines
        })
        expect(a).toBe(b)
        if (a! < shape.height) cutShort++
      }),
      { numRuns: 300 },
    )
    expect(cutShort).toBeGreaterThan(100)
  })

  it('are the same from both kernels, sample by sample, when the data are random bytes', () => {
    fc.assert(
      fc.property(anyStream(), fc.uint8Array({ minLength: 0, maxLength: 2000 }), (shape, noise) => {
        const start = slowLosslessJpeg(samplesFor(shape, [0]), shape)
        const header = start.slice(0, start.length - 2 - dataBytes(start))
        const stream = Uint8Array.from([...header, ...noise])
        const [a, b] = sets.map(([, kernels]) => {
          const { lines, samples } = kernelLines(memory, kernels, stream, AT)
          return [lines, ...samples.subarray(0, lines * shape.width * shape.components)]
        })
        expect(a).toEqual(b)
      }),
      { numRuns: 300 },
    )
  })
})

/** Bytes between the scan header and the end marker. */
function dataBytes(jpeg: Uint8Array): number {
  const scan = jpeg.findIndex((v, i) => v === 0xff && jpeg[i + 1] === 0xda)
  return jpeg.length - 2 - (scan + 2 + ((jpeg[scan + 2]! << 8) | jpeg[scan + 3]!))
}

describe('lossless JPEG tables', () => {
  it('are bit for bit the same from both kernels', () => {
    fc.assert(
      fc.property(anyHuffman(), ({ counts, symbols }) => {
        const [a, b] = sets.map(([, kernels]) => {
          memory.u8(AT, 16).set(counts)
          memory.u8(AT + 16, 256).set([...symbols, ...new Array(256 - symbols.length).fill(0)])
          memory.u8(AT + 4096, LJPEG_TABLE_BYTES).fill(0x77)
          kernels.ljpegTable(AT, AT + 4096)
          return Buffer.from(memory.u8(AT + 4096, LJPEG_TABLE_BYTES)).toString('hex')
        })
        expect(a === b).toBe(true)
      }),
      { numRuns: 200 },
    )
  })
})

/** Tables that use at most every word of each length, complete or not. */
function anyHuffman() {
  return fc
    .tuple(
      fc.array(fc.double({ min: 0, max: 1, noNaN: true }), { minLength: 16, maxLength: 16 }),
      fc.array(fc.integer({ min: 0, max: 16 }), { minLength: 256, maxLength: 256 }),
    )
    .map(([shares, pool]) => {
      let free = 1
      let left = 256
      const counts = shares.map((share) => {
        free *= 2
        const count = Math.min(Math.floor(share * share * (free + 1)), free, left, 255)
        free -= count
        left -= count
        return count
      })
      return { counts, symbols: pool.slice(0, 256 - left) }
    })
}

describe('un-stuffing', () => {
  it('drops the zero after each FF, stops at a marker and pads with zeros, alike in both kernels', () => {
    const anyBytes = fc.array(
      fc.oneof(
        fc.constant([0xff, 0]),
        fc.integer({ min: 0, max: 254 }).map((v) => [v]),
      ),
      { maxLength: 300 },
    )
    fc.assert(
      fc.property(anyBytes, fc.constantFrom([], [0xff], [0xff, 0xd9], [0xff, 0xff, 0xd9, 1, 2, 3]), (units, tail) => {
        const stuffed = [...units.flat(), ...tail]
        const expected = units.map((u) => u[0]!)
        const end = AT + KERNEL_LINES_BYTES
        for (const [, kernels] of sets) {
          memory.u8(AT, stuffed.length + 64).fill(7)
          memory.u8(AT, stuffed.length).set(stuffed)
          expect(kernels.ljpegUnstuff(AT, stuffed.length, end)).toBe(expected.length)
          expect([...memory.u8(end - expected.length, expected.length)].reverse()).toEqual(expected)
          expect(memory.u8(end - expected.length - 16, 16).every((v) => v === 0)).toBe(true)
        }
      }),
      { numRuns: 300 },
    )
  })
})
