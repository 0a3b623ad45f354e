import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { bothKernels } from '../../../../test/kernels.ts'

const { memory, plain, simd } = bothKernels(1 << 20)
const [GAINS, VALUES, VARIANCE, NODES, COLUMNS, SECOND] = [4096, 16384, 32768, 49152, 65536, 131072]

const gain = fc.float({ min: Math.fround(-4), max: Math.fround(40), noNaN: true })
const value = fc.float({ min: Math.fround(-1), max: Math.fround(100), noNaN: true })

/** Runs one call with each set of kernels on the same memory; the two results as bytes. */
function both(at: number, bytes: number, prepare: () => void, call: (k: typeof plain) => void) {
  prepare()
  call(plain)
  const first = memory.u8(at, bytes).slice()
  prepare()
  call(simd)
  return [first, memory.u8(at, bytes).slice()] as const
}

const hex = (bytes: Uint8Array) => Array.from(bytes, (b) => b.toString(16).padStart(2, '0')).join('')

describe('gains along a row', () => {
  it('between two nodes are the straight line, at every second column', () => {
    for (const k of [plain, simd]) {
      memory.f32(GAINS, 9).fill(2)
      memory.f32(NODES, 3).set([1, 3, 3])
      const index = memory.i32(COLUMNS, 8)
      const fraction = memory.f32(COLUMNS, 8)
      for (const [i, [node, f]] of [
        [0, 0],
        [0, 0.25],
        [0, 0.5],
        [1, 1],
      ].entries()) {
        index[2 * i] = node!
        fraction[2 * i + 1] = f!
      }
      k.gainLine(GAINS, 1, 2, 4, NODES, COLUMNS)
      expect([...memory.f32(GAINS, 9)]).toEqual([2, 2, 2, 3, 2, 4, 2, 6, 2])
    }
  })

  it('multiply values once and variances twice, and touch nothing behind the row', () => {
    for (const k of [plain, simd]) {
      memory.f32(GAINS, 8).set([1, 2, 3, 4, 5, 6, 7, 8])
      memory.f32(VALUES, 8).fill(1)
      memory.f32(VARIANCE, 8).fill(1)
      k.shadeRow(VALUES, VARIANCE, GAINS, 6)
      expect([...memory.f32(VALUES, 8)]).toEqual([1, 2, 3, 4, 5, 6, 1, 1])
      expect([...memory.f32(VARIANCE, 8)]).toEqual([1, 4, 9, 16, 25, 36, 1, 1])
    }
  })

  it('round stored codes to nearest and clip them at 0 and 65535', () => {
    for (const k of [plain, simd]) {
      memory.u16(VALUES, 10).set([0, 1, 3, 3, 1000, 40000, 65535, 5, 7, 100])
      memory.f32(GAINS, 9).set([2, 0.49, 0.5, 1.5, 1.0004, 2, 1, -1, 1.5])
      k.shadeCodes(VALUES, GAINS, 9)
      expect([...memory.u16(VALUES, 10)]).toEqual([0, 0, 2, 5, 1000, 65535, 65535, 0, 11, 100])
    }
  })

  it('are bit for bit the same from the fast kernel', () => {
    fc.assert(
      fc.property(
        fc.array(fc.tuple(gain, value, value), { minLength: 1, maxLength: 70 }),
        fc.array(fc.float({ min: Math.fround(-2), max: Math.fround(2), noNaN: true }), { minLength: 5, maxLength: 5 }),
        fc.float({ min: -100, max: 100, noNaN: true }),
        (rows, terms, start) => {
          const n = rows.length
          const prepare = () => {
            memory.f32(GAINS, n).set(rows.map((r) => r[0]))
            memory.f32(VALUES, n).set(rows.map((r) => r[1]))
            memory.f32(VARIANCE, n).set(rows.map((r) => r[2]))
            memory.f32(NODES, 5).set(terms)
            const index = memory.i32(COLUMNS, 2 * n)
            const fraction = memory.f32(COLUMNS, 2 * n)
            for (let i = 0; i < n; i++) {
              index[2 * i] = i % 4
              fraction[2 * i + 1] = (i * 0.37) % 1
            }
          }
          const shaded = both(VALUES, 4 * n, prepare, (k) => k.shadeRow(VALUES, VARIANCE, GAINS, n))
          expect(hex(shaded[1])).toBe(hex(shaded[0]))
          const squared = both(VARIANCE, 4 * n, prepare, (k) => k.shadeRow(VALUES, VARIANCE, GAINS, n))
          expect(hex(squared[1])).toBe(hex(squared[0]))
          const line = both(GAINS, 4 * n, prepare, (k) => k.gainLine(GAINS, 0, 1, n, NODES, COLUMNS))
          expect(hex(line[1])).toBe(hex(line[0]))
          const vignette = both(SECOND, 4 * n, prepare, (k) => k.vignetteLine(SECOND, n, start, 0.0123, 0.2, NODES))
          expect(hex(vignette[1])).toBe(hex(vignette[0]))
          const codes = () => {
            prepare()
            memory.u16(SECOND, n).set(rows.map((r) => Math.abs(r[1]) * 655))
          }
          const stored = both(SECOND, 2 * n, codes, (k) => k.shadeCodes(SECOND, GAINS, n))
          expect(hex(stored[1])).toBe(hex(stored[0]))
        },
      ),
      { numRuns: 500 },
    )
  })
})
