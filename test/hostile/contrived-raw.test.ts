import { describe, expect, it } from 'vitest'
import { describeRaw } from '#picture/raw'
import { byte, failureOf, smallDng } from '../tiff-bytes.ts'

/** Files made to cost time or memory rather than damaged by chance; each must be answered soon. */
const SECONDS = 2

function timed<T>(call: () => T): { result: T; seconds: number } {
  const start = performance.now()
  const result = call()
  return { result, seconds: (performance.now() - start) / 1000 }
}

const u16 = (...values: number[]) => values.flatMap((v) => [(v >> 8) & 255, v & 255])
const u32 = (...values: number[]) => values.flatMap((v) => [v >>> 24, (v >>> 16) & 255, (v >>> 8) & 255, v & 255])
const entry = (tag: number, type: number, count: number, value: number) => [...u16(tag, type), ...u32(count, value)]

describe('a contrived raw file is answered soon', () => {
  it('a million child directories', () => {
    const million = 1_000_000
    const head = [
      0x4d,
      0x4d,
      ...u16(42),
      ...u32(8),
      ...u16(2),
      ...entry(330, 4, million, 64),
      ...entry(50706, 1, 4, 0x01040000),
      ...u32(0),
    ]
    const bytes = new Uint8Array(64 + 4 * million).fill(0x33)
    bytes.set(head)
    const view = new DataView(bytes.buffer)
    for (let i = 0; i < million; i++) view.setUint32(64 + 4 * i, i)
    const { result, seconds } = timed(() => failureOf(() => describeRaw(bytes)))
    expect(['malformed', 'limit', 'unsupported']).toContain(result.kind)
    expect(seconds).toBeLessThan(SECONDS)
  })

  it('a chain of directories whose every tag takes four million bytes', () => {
    const tags = [254, 256, 257, 262, 330, 271, 272, 274, 34665, 34853, 50706, 50707]
    const size = 2 + 12 * tags.length + 4
    const big = 4_000_000
    const count = 60
    const bytes = new Uint8Array(8 + size * count + big)
    bytes.set([0x4d, 0x4d, ...u16(42), ...u32(8)])
    for (let i = 0; i < count; i++) {
      const at = 8 + size * i
      const next = i === count - 1 ? 0 : at + size
      bytes.set([...u16(tags.length), ...tags.flatMap((tag) => entry(tag, 1, big, 8 + size * count)), ...u32(next)], at)
    }
    const { result, seconds } = timed(() => failureOf(() => describeRaw(bytes)))
    expect(result.code).toBe('no-raw-picture')
    expect(seconds).toBeLessThan(SECONDS)
  })

  it.each([
    ['attributes', `<x ${Array.from({ length: 80_000 }, (_, i) => `a${i}="1"`).join(' ')}/>`],
    ['open elements', '<x>'.repeat(300_000)],
    ['siblings', `<x>${'<y/>'.repeat(200_000)}</x>`],
    ['characters in one value', `<x><y>${'z'.repeat(900_000)}</y></x>`],
    ['ampersands', `<x>${'&'.repeat(900_000)}</x>`],
  ])('an XMP packet of very many %s costs only itself', (_, text) => {
    const bytes = smallDng({ top: { 700: byte(...Buffer.from('x')) } })
    expect(describeRaw(bytes).leftOut).toHaveLength(1)
    const long = smallDng({ top: { 700: { type: 'byte', values: Buffer.from(text) } } })
    const { result, seconds } = timed(() => describeRaw(long))
    expect(result).toMatchObject({ width: 8, attitude: null })
    expect(seconds).toBeLessThan(SECONDS)
  })
})
