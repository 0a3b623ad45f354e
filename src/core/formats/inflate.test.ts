import { deflateSync } from 'node:zlib'
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { Failure } from '#core/base'
import { inflateBounded } from './inflate.ts'

const kindOf = (work: () => unknown) => {
  try {
    work()
  } catch (error) {
    if (error instanceof Failure) return `${error.kind} ${error.code}`
    throw error
  }
  return 'read'
}

describe('inflating', () => {
  it("gives back what the platform's zlib deflated, up to the very limit", () => {
    fc.assert(
      fc.property(fc.uint8Array({ minLength: 1, maxLength: 5000 }), fc.integer({ min: 1, max: 40 }), (unit, times) => {
        const bytes = Buffer.concat(new Array(times).fill(Buffer.from(unit)))
        const packed = new Uint8Array(deflateSync(bytes))
        expect(Buffer.compare(Buffer.from(inflateBounded(packed, bytes.length)), bytes)).toBe(0)
        expect(kindOf(() => inflateBounded(packed, bytes.length - 1))).toBe('limit deflate-output')
      }),
      { numRuns: 100 },
    )
  })

  it('stops a bomb at the limit', () => {
    const bomb = new Uint8Array(deflateSync(Buffer.alloc(200 << 20)))
    expect(bomb.length).toBeLessThan(1 << 20)
    expect(kindOf(() => inflateBounded(bomb, 1 << 20))).toBe('limit deflate-output')
  })

  it('names a stream that is cut or damaged', () => {
    const packed = new Uint8Array(deflateSync(Buffer.from(Array.from({ length: 9000 }, (_, i) => (i * i) >> 3))))
    for (let length = 0; length < packed.length - 8; length += 7)
      expect(kindOf(() => inflateBounded(packed.subarray(0, length), 9000))).toBe('malformed deflate-damaged')
    fc.assert(
      fc.property(fc.nat(packed.length - 1), fc.nat(255), (at, value) => {
        const bytes = packed.slice()
        bytes[at] = value
        expect(kindOf(() => inflateBounded(bytes, 9000))).toMatch(
          /^(read|malformed deflate-damaged|limit deflate-output)$/,
        )
      }),
      { numRuns: 500 },
    )
  })
})
