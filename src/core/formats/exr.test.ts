import fc from 'fast-check'
import { zlibSync } from 'fflate'
import { describe, expect, it } from 'vitest'
import { Failure } from '#core/base'
import { floatFromHalf, halfFromFloat } from '#core/kernels'
import { readExr } from './exr-read.ts'
import { linearSrgbChromaticities, writeExr } from './exr-write.ts'

// A 2×2 half RGB file whose header OpenEXR 3.1.5's own dump tool accepts.
const golden = Uint8Array.from(
  (
    '762f3101020000006368616e6e656c730063686c697374003700000042000100000000000000010000000100000047000100000000000000' +
    '010000000100000052000100000000000000010000000100000000636f6d7072657373696f6e00636f6d7072657373696f6e000100000000' +
    '6461746157696e646f7700626f783269001000000000000000000000000100000001000000646973706c617957696e646f7700626f7832' +
    '690010000000000000000000000001000000010000006c696e654f72646572006c696e654f726465720001000000007069' +
    '78656c417370656374526174696f00666c6f617400040000000000803f73637265656e57696e646f7743656e74657200763266000800000' +
    '0000000000000000073637265656e57696e646f77576964746800666c6f617400040000000000803f0049010000000000005d0100000000' +
    '0000000000000c00000000000048c3310034003c0038010000000c00000000b800300040ff7b00440000'
  ).match(/../g)!,
  (h) => Number.parseInt(h, 16),
)
const halves = (...values: number[]) => Uint16Array.from(values, halfFromFloat)
const picture = {
  width: 2,
  height: 2,
  channels: [
    { name: 'R', samples: halves(1, 0.5, 4, 0) },
    { name: 'G', samples: halves(0.18, 0.25, 2, 65504) },
    { name: 'B', samples: halves(0, 8, -0.5, 0.125) },
  ],
}

describe('OpenEXR', () => {
  it('the golden 2×2 half file of 369 bytes is reproduced byte for byte', () => {
    expect(golden.length).toBe(369)
    expect(writeExr(picture)).toEqual(golden)
  })

  it('the golden file reads back as the published values', () => {
    const file = readExr(golden)
    const values = Object.fromEntries(file.channels.map((c) => [c.name, Array.from(c.samples, floatFromHalf)]))
    expect(values).toEqual({
      R: [1, 0.5, 4, 0],
      G: [0.18005371, 0.25, 2, 65504].map((v) => expect.closeTo(v, 8)),
      B: [0, 8, -0.5, 0.125],
    })
    expect(file.chromaticities).toBeNull()
  })

  it('primaries, white luminance and free attributes survive', () => {
    const file = readExr(
      writeExr({
        ...picture,
        chromaticities: linearSrgbChromaticities,
        whiteLuminance: 12.5,
        attributes: { capture: 'four frames, 23 °C', spread: 0.25 },
      }),
    )
    file.chromaticities!.forEach((v, i) => {
      expect(v).toBeCloseTo(linearSrgbChromaticities[i]!, 6)
    })
    expect(file.attributes).toMatchObject({ capture: 'four frames, 23 °C', spread: 0.25, whiteLuminance: 12.5 })
  })

  it.each([
    [2, 1],
    [3, 16],
  ])('compression %i (%i rows a block) reads as its uncompressed twin', (compression, rowsInBlock) => {
    const width = 7
    const height = 37
    const samples = Float32Array.from({ length: width * height }, (_, i) => Math.sin(i * 0.37) * 100)
    const plain = { width, height, channels: [{ name: 'Y', samples }] }
    expect(readExr(zipped(writeExr(plain), width * 4, height, rowsInBlock, compression)).channels[0]!.samples).toEqual(
      samples,
    )
  })

  it('broken bytes are refused by name and never anything else', () => {
    const base = writeExr(picture)
    fc.assert(
      fc.property(
        fc.array(fc.tuple(fc.nat(base.length - 1), fc.nat(255)), { minLength: 1, maxLength: 6 }),
        fc.nat(base.length),
        (changes, length) => {
          const broken = base.slice(0, length)
          for (const [at, value] of changes) if (at < length) broken[at] = value
          try {
            readExr(broken)
          } catch (error) {
            expect(error).toBeInstanceOf(Failure)
          }
        },
      ),
      { numRuns: 2000 },
    )
  })

  it('a file of a few bytes that claims a huge picture is refused', () => {
    const claim = golden.slice()
    const at =
      8 +
      'channels chlist '.length +
      4 +
      55 +
      'compression compression '.length +
      4 +
      1 +
      'dataWindow box2i '.length +
      4
    new DataView(claim.buffer).setInt32(at + 8, 30_000, true)
    new DataView(claim.buffer).setInt32(at + 12, 3_000, true)
    expect(() => readExr(claim)).toThrow(/exr-too-short/)
  })
})

/** Re-packs an uncompressed file the way the format's ZIP filter asks: bytes de-interleaved, differences, deflate. */
function zipped(plain: Uint8Array, rowBytes: number, height: number, rowsInBlock: number, compression: number) {
  const view = new DataView(plain.buffer)
  const headerEnd = Number(view.getBigUint64(plain.length - height * (rowBytes + 16), true)) - height * 8
  const header = plain.slice(0, headerEnd)
  const name = 'compression\0compression\0'
  const at =
    Array.from(header, (c) => String.fromCharCode(c))
      .join('')
      .indexOf(name) +
    name.length +
    4
  header[at] = compression
  const rowAt = (y: number) => headerEnd + height * 8 + y * (rowBytes + 8) + 8
  const blocks: Uint8Array[] = []
  for (let y = 0; y < height; y += rowsInBlock) {
    const rows = Math.min(rowsInBlock, height - y)
    const flat = new Uint8Array(rows * rowBytes)
    for (let r = 0; r < rows; r++) flat.set(plain.subarray(rowAt(y + r), rowAt(y + r) + rowBytes), r * rowBytes)
    const half = (flat.length + 1) >> 1
    const split = flat.map((_, i) => flat[i < half ? 2 * i : 2 * (i - half) + 1]!)
    const filtered = split.map((v, i) => (i === 0 ? v : v - split[i - 1]! + 128))
    const packed = zlibSync(filtered)
    const body = packed.length < flat.length ? packed : flat
    const block = new Uint8Array(8 + body.length)
    new DataView(block.buffer).setInt32(0, y, true)
    new DataView(block.buffer).setInt32(4, body.length, true)
    block.set(body, 8)
    blocks.push(block)
  }
  const offsets = new Uint8Array(blocks.length * 8)
  let top = headerEnd + offsets.length
  blocks.forEach((b, i) => {
    new DataView(offsets.buffer).setBigUint64(i * 8, BigInt(top), true)
    top += b.length
  })
  return Uint8Array.from([...header, ...offsets, ...blocks.flatMap((b) => [...b])])
}
