import { readFileSync } from 'node:fs'
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { Failure } from '#core/base'
import { bothKernels } from '../../../test/kernels.ts'
import { kernelLines } from '../../../test/lossless-jpeg.ts'
import { huffmanLengths } from './huffman-lengths.ts'
import { encodeLosslessJpeg, parseLosslessJpeg } from './lossless-jpeg.ts'

const vectors: Record<string, { precision: number; predictor: number; components: number; jpeg_hex: string }> =
  JSON.parse(readFileSync(new URL('../../../truth/lossless-jpeg/vectors.json', import.meta.url), 'utf8'))
const bytesOf = (name: string) => Uint8Array.from(Buffer.from(vectors[name]!.jpeg_hex, 'hex'))

function failureOf(work: () => unknown): Failure {
  try {
    work()
  } catch (error) {
    if (error instanceof Failure) return error
    throw error
  }
  throw new Error('no failure')
}
const refusal = (bytes: Uint8Array) => {
  const { kind, code } = failureOf(() => parseLosslessJpeg(bytes, 0, bytes.length))
  return `${kind} ${code}`
}

describe('the header of a lossless JPEG', () => {
  it.each(Object.entries(vectors))('says precision, predictor and components of the published stream %s', (name, v) => {
    const bytes = bytesOf(name)
    const { precision, predictor, components } = parseLosslessJpeg(bytes, 0, bytes.length)
    expect({ precision, predictor, components }).toEqual({
      precision: v.precision,
      predictor: v.predictor,
      components: v.components,
    })
  })

  it('is found at an offset and holds absolute places', () => {
    const one = bytesOf('bayer10_2comp_6x4')
    const file = Uint8Array.from([9, 9, 9, ...one, 9])
    const here = parseLosslessJpeg(one, 0, one.length)
    expect(parseLosslessJpeg(file, 3, one.length)).toEqual({ ...here, dataOffset: here.dataOffset + 3 })
    expect(here).toMatchObject({ width: 3, height: 4, pointTransform: 0, restartLines: 0 })
  })

  it('of any other JPEG process is refused by name', () => {
    const other = (marker: number) => {
      const bytes = bytesOf('p1_8bit_4x4')
      bytes[3] = marker
      return failureOf(() => parseLosslessJpeg(bytes, 0, bytes.length))
    }
    expect(other(0xc0)).toMatchObject({ kind: 'unsupported', code: 'jpeg-process', facts: { process: 'baseline DCT' } })
    expect(other(0xc1).facts).toMatchObject({ process: 'extended sequential DCT' })
    expect(other(0xcb).facts).toMatchObject({ process: 'arithmetic lossless' })
  })

  it('with impossible values is refused, each for its reason', () => {
    const sof = 4
    const dht = 15
    const scan = bytesOf('p1_8bit_4x4').findIndex((v, i, all) => v === 0xff && all[i + 1] === 0xda)
    const changed = (at: number, ...values: number[]) => {
      const bytes = bytesOf('p1_8bit_4x4')
      bytes.set(values, at)
      return refusal(bytes)
    }
    expect(changed(0, 0)).toBe('malformed jpeg-no-start')
    expect(changed(sof + 2, 17)).toBe('malformed jpeg-precision')
    expect(changed(sof + 2, 1)).toBe('malformed jpeg-precision')
    expect(changed(sof + 4, 0)).toBe('unsupported jpeg-height-later')
    expect(changed(sof + 6, 0)).toBe('malformed jpeg-empty')
    expect(changed(sof + 7, 5)).toBe('unsupported jpeg-components')
    expect(changed(dht + 4, 9)).toBe('malformed jpeg-table-number')
    expect(changed(dht + 5, 1, 2)).toBe('malformed jpeg-table-oversubscribed')
    expect(changed(dht + 21, 17)).toBe('malformed jpeg-table-symbol')
    expect(changed(scan + 3, 250)).toBe('malformed jpeg-truncated')
    expect(changed(scan + 4, 2)).toBe('unsupported jpeg-several-scans')
    expect(changed(scan + 5, 7)).toBe('malformed jpeg-scan-component')
    expect(changed(scan + 6, 0x10)).toBe('malformed jpeg-table-missing')
    expect(changed(scan + 7, 0)).toBe('malformed jpeg-predictor')
    expect(changed(scan + 7, 8)).toBe('malformed jpeg-predictor')
    expect(changed(scan + 9, 8)).toBe('malformed jpeg-point-transform')
    expect(changed(scan + 1, 0xd9)).toBe('malformed jpeg-no-scan')
  })

  it('that is cut anywhere, or damaged in any byte, fails by name or is read: nothing else happens', () => {
    const whole = bytesOf('bayer10_2comp_6x4')
    const { dataOffset } = parseLosslessJpeg(whole, 0, whole.length)
    for (let length = 0; length < dataOffset; length++)
      expect(failureOf(() => parseLosslessJpeg(whole, 0, length)).kind).toBe('malformed')
    fc.assert(
      fc.property(fc.array(fc.tuple(fc.nat(dataOffset - 1), fc.nat(255)), { maxLength: 4 }), (changes) => {
        const bytes = whole.slice()
        for (const [at, value] of changes) bytes[at] = value
        try {
          parseLosslessJpeg(bytes, 0, bytes.length)
        } catch (error) {
          if (!(error instanceof Failure)) throw error
        }
      }),
      { numRuns: 2000 },
    )
  })
})

describe('the lossless JPEG encoder', () => {
  const { memory, plain } = bothKernels(16 << 20)

  it('is read back sample by sample for 1 to 4 components, all predictors, 2 to 16 bits', () => {
    const anyPicture = fc.record({
      width: fc.integer({ min: 1, max: 30 }),
      height: fc.integer({ min: 1, max: 8 }),
      components: fc.integer({ min: 1, max: 4 }),
      precision: fc.integer({ min: 2, max: 16 }),
      predictor: fc.integer({ min: 1, max: 7 }),
      values: fc.array(fc.nat(65535), { minLength: 1, maxLength: 60 }),
      spread: fc.integer({ min: 0, max: 15 }),
    })
    fc.assert(
      fc.property(anyPicture, ({ width, height, components, precision, predictor, values, spread }) => {
        const samples = Uint16Array.from(
          { length: width * height * components },
          (_, i) => (values[i % values.length]! >> spread) & (2 ** precision - 1),
        )
        const bytes = encodeLosslessJpeg(samples, width, height, components, precision, predictor)
        const found = kernelLines(memory, plain, bytes, 1 << 20)
        expect(found.lines).toBe(height)
        expect(found.samples).toEqual(samples)
      }),
      { numRuns: 500 },
    )
  })

  it('refuses samples beyond the precision and shapes that do not fit, as wrong use', () => {
    const wrong = (...args: Parameters<typeof encodeLosslessJpeg>) => failureOf(() => encodeLosslessJpeg(...args)).kind
    expect(wrong(Uint16Array.of(256), 1, 1, 1, 8)).toBe('usage')
    expect(wrong(Uint16Array.of(1, 2), 1, 1, 1, 8)).toBe('usage')
    expect(wrong(new Uint16Array(5), 1, 1, 5, 8)).toBe('usage')
    expect(wrong(Uint16Array.of(1), 1, 1, 1, 17)).toBe('usage')
    expect(wrong(Uint16Array.of(1), 1, 1, 1, 8, 0)).toBe('usage')
  })
})

describe('Huffman lengths', () => {
  const anyWeights = fc.array(fc.nat(1e6), { minLength: 1, maxLength: 17 }).filter((w) => w.some((v) => v > 0))
  const cost = (weights: readonly number[], lengths: Uint8Array) =>
    weights.reduce((sum, w, i) => sum + w * lengths[i]!, 0)

  it('leave one word free, stay within the limit and cost as little as merging the two rarest again and again', () => {
    fc.assert(
      fc.property(anyWeights, (weights) => {
        const lengths = huffmanLengths(weights, 16)
        let words = 0
        lengths.forEach((l, i) => {
          expect(l === 0).toBe(weights[i] === 0)
          if (l > 0) words += 2 ** (16 - l)
        })
        expect(words).toBeLessThan(65536)
        expect(Math.max(...lengths)).toBeLessThanOrEqual(16)
        // Huffman 1952: the sum of all merged weights is the least cost without a limit (never above 16 here, or equal).
        const heap = [0, ...weights.filter((w) => w > 0)]
        let least = 0
        while (heap.length > 1) {
          heap.sort((a, b) => b - a)
          const merged = heap.pop()! + heap.pop()!
          least += merged
          heap.push(merged)
        }
        expect(cost(weights, lengths)).toBe(least)
      }),
      { numRuns: 300 },
    )
  })

  it('obey the limit where an unlimited code would be longer', () => {
    const fibonacci = [1, 1]
    while (fibonacci.length < 17) fibonacci.push(fibonacci.at(-1)! + fibonacci.at(-2)!)
    const lengths = huffmanLengths(fibonacci, 8)
    expect(Math.max(...lengths)).toBe(8)
    expect(lengths.reduce((sum, l) => sum + 2 ** -l, 0)).toBeLessThan(1)
  })
})
