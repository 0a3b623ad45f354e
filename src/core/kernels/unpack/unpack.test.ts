import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { bothKernels } from '../../../../test/kernels.ts'

const { memory, plain, simd } = bothKernels(1 << 20)
const sets = [
  ['plain', plain],
  ['simd', simd],
] as const
const SRC = 1027
const DST = 65536
const TABLE = 262144

/** Samples as a row of bits, first sample first and highest bit first, filled up to a byte: TIFF's FillOrder 1. */
function packed(row: readonly number[], bits: number): number[] {
  const digits = row.map((v) => v.toString(2).padStart(bits, '0')).join('')
  return Array.from({ length: Math.ceil(digits.length / 8) }, (_, i) =>
    Number.parseInt(digits.slice(8 * i, 8 * i + 8).padEnd(8, '0'), 2),
  )
}

const anyRows = fc
  .record({ columns: fc.integer({ min: 1, max: 70 }), rows: fc.integer({ min: 1, max: 4 }), gap: fc.nat(3) })
  .chain((shape) =>
    fc
      .array(fc.nat(65535), { minLength: shape.columns * shape.rows, maxLength: shape.columns * shape.rows })
      .map((values) => ({ ...shape, values })),
  )
type Rows = typeof anyRows extends fc.Arbitrary<infer T> ? T : never

/** Lays rows of bytes out, runs the work, and returns the samples; fails when anything between or after rows changed. */
function through(
  { columns, rows, gap }: Rows,
  bytes: readonly number[][],
  work: (srcStride: number, dstStride: number) => void,
) {
  const srcStride = bytes[0]!.length + gap
  const dstStride = 2 * (columns + gap)
  for (const [y, row] of bytes.entries()) memory.u8(SRC + y * srcStride, row.length).set(row)
  memory.u16(DST, rows * (columns + gap) + 32).fill(0xaaaa)
  work(srcStride, dstStride)
  const all = [...memory.u16(DST, rows * (columns + gap) + 32)]
  const found: number[] = []
  for (let y = 0; y < rows; y++) {
    found.push(...all.splice(0, columns))
    expect(all.splice(0, gap).every((v) => v === 0xaaaa)).toBe(true)
  }
  expect(all.every((v) => v === 0xaaaa)).toBe(true)
  return found
}
const byRow = ({ columns, rows, values }: Rows) =>
  Array.from({ length: rows }, (_, y) => values.slice(y * columns, (y + 1) * columns))

describe.each(sets)('unpacking with %s kernels', (_, kernels) => {
  it.each([9, 10, 11, 12, 13, 14, 15])('reads %i-bit samples packed from the highest bit', (bits) => {
    fc.assert(
      fc.property(anyRows, (shape) => {
        const values = shape.values.map((v) => v & ((1 << bits) - 1))
        const bytes = byRow({ ...shape, values }).map((row) => packed(row, bits))
        const found = through(shape, bytes, (from, to) =>
          kernels.unpackBits(SRC, from, DST, to, shape.columns, shape.rows, bits),
        )
        expect(found).toEqual(values)
      }),
      { numRuns: 60 },
    )
  })

  it('reads bytes and words of both byte orders, at odd addresses too', () => {
    fc.assert(
      fc.property(anyRows, (shape) => {
        const { columns, rows, values } = shape
        const each = (make: (v: number) => number[]) => byRow(shape).map((row) => row.flatMap(make))
        expect(
          through(
            shape,
            each((v) => [v & 255, v >> 8]),
            (from, to) => kernels.unpackWords(SRC, from, DST, to, columns, rows, 0),
          ),
        ).toEqual(values)
        expect(
          through(
            shape,
            each((v) => [v >> 8, v & 255]),
            (from, to) => kernels.unpackWords(SRC, from, DST, to, columns, rows, 1),
          ),
        ).toEqual(values)
        expect(
          through(
            shape,
            each((v) => [v & 255]),
            (from, to) => kernels.unpackBytes(SRC, from, DST, to, columns, rows),
          ),
        ).toEqual(values.map((v) => v & 255))
      }),
      { numRuns: 100 },
    )
  })

  it("linearises through a table, beyond whose end the last entry stands (DNG's LinearizationTable)", () => {
    memory.u16(TABLE, 5).set([3, 10, 400, 9000, 65535])
    memory.u16(DST, 8).set([0, 1, 2, 3, 4, 5, 77, 65535])
    kernels.linearise(DST, 8, 4, 2, TABLE, 5)
    expect([...memory.u16(DST, 8)]).toEqual([3, 10, 400, 9000, 65535, 65535, 65535, 65535])
  })
})
