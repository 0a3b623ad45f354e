import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { bothKernels } from '../../../../test/kernels.ts'

const [R, G, B, K] = [4096, 8192, 12288, 1024]
const identity = [1, 0, 0, 0, 1, 0, 0, 0, 1]

function run(
  kind: 'plain' | 'simd',
  pixels: readonly (readonly number[])[],
  neutral: number[],
  clip: [number, number],
  matrix = identity,
) {
  const both = bothKernels(1 << 20)
  const { memory } = both
  memory.f32(K, 14).set([...neutral.map((v) => 1 / v), ...clip, ...matrix])
  ;[R, G, B].forEach((at, c) => {
    memory.f32(at, pixels.length).set(pixels.map((p) => p[c]!))
    memory.f32(at, pixels.length + 1)[pixels.length] = 77
  })
  both[kind].workingRow(R, G, B, pixels.length, K)
  for (const at of [R, G, B]) expect(memory.f32(at, pixels.length + 1)[pixels.length]).toBe(77)
  return pixels.map((_, i) => [R, G, B].map((at) => memory.f32(at, pixels.length)[i]!))
}

describe('working colours', () => {
  it('balance white exactly and leave dark and negative values linear', () => {
    const neutral = [0.55, 1, 0.7]
    const [white, dark] = run('simd', [neutral.map((n) => n * 0.5), [-0.001, 0.002, 0.0007]], neutral, [8, 9])
    for (const v of white!) expect(v).toBeCloseTo(0.5, 6)
    expect(dark![0]).toBeCloseTo(-0.001 / 0.55, 8)
    expect(dark![2]).toBeCloseTo(0.001, 8)
  })

  it('make a lamp that clipped in every channel white, not magenta', () => {
    const [lamp, ring] = run(
      'simd',
      [
        [4, 4, 4],
        [3, 2, 0.5],
      ],
      [0.55, 1, 0.7],
      [3.6, 3.9],
    )
    expect(lamp![0]).toBeCloseTo(lamp![1]!, 5)
    expect(lamp![2]).toBeCloseTo(lamp![1]!, 5)
    // Not clipped: its own colour.
    expect(ring![0]! / ring![1]!).toBeCloseTo(3 / 0.55 / 2, 4)
  })

  it('are bit for bit the same from both kernels', () => {
    const value = fc.double({ min: -0.1, max: 12, noNaN: true })
    fc.assert(
      fc.property(
        fc.array(fc.tuple(value, value, value), { minLength: 1, maxLength: 40 }),
        fc.array(fc.double({ min: -1, max: 2, noNaN: true }), { minLength: 9, maxLength: 9 }),
        (pixels, matrix) => {
          expect(run('simd', pixels, [0.5, 1, 0.6], [3, 4], matrix)).toEqual(
            run('plain', pixels, [0.5, 1, 0.6], [3, 4], matrix),
          )
        },
      ),
    )
  })
})
