import { describe, expect, it } from 'vitest'
import { bothKernels } from '../../../../test/kernels.ts'
import { cubicTable } from '../align/align.ts'
import { PLANE_PAD, planeStride } from '../planes/planes.ts'

const W = 100
const H = 40
const stride = planeStride(W)
const PLANE_A = 8192
const SIZE = H * stride * 4 + 1024
const [PLANE_B, VALUE] = [PLANE_A + SIZE, PLANE_A + 2 * SIZE]
const [TRUST, TABLE, WARP] = [VALUE + SIZE, VALUE + 2 * SIZE, VALUE + 3 * SIZE]
const PLACE = WARP + 64
const ROW_BYTES = ((W + 7) & ~7) * 4
const [ACROSS, MOST, FLAGS] = [1 << 20, 2 << 20, 3 << 20]

/** Frames whose colour at even reference columns is `a` and at odd ones `b`; `one` reads a picture of a alone. */
function setUp(a: (x: number, y: number) => number, b: (x: number, y: number) => number) {
  const both = bothKernels(1 << 22)
  const { memory } = both
  memory.f32(TABLE, 257 * 4).set(cubicTable())
  memory.i32(PLACE, 6).set([0, 0, W, H, W, H])
  return (kind: 'plain' | 'simd', y: number, warp: number[], one = false) => {
    for (const [at, parity] of [
      [PLANE_A, 0],
      [PLANE_B, 1],
    ] as const) {
      const plane = memory.f32(at, H * stride)
      for (let r = 0; r < H; r++)
        for (let x = 0; x < W; x++) plane[r * stride + PLANE_PAD + x] = one || (x & 1) === parity ? a(x, r) : b(x, r)
    }
    memory.f32(WARP, 6).set(warp)
    const k = both[kind]
    k.acrossRows(PLANE_A, PLANE_B, stride, PLACE, 0, W, WARP, TABLE, 0.9, ACROSS, MOST, ROW_BYTES, FLAGS)
    k.downRow(ACROSS, MOST, ROW_BYTES, FLAGS, PLACE, 0, W, y, WARP, TABLE, 0.9, 0.97, VALUE, TRUST)
    return { value: [...memory.f32(VALUE + PLANE_PAD * 4, W)], trust: [...memory.f32(TRUST + PLANE_PAD * 4, W)] }
  }
}

describe('a frame laid on the reference', () => {
  it('reads a quadratic surface exactly, even columns from one plane and odd from the other (Keys 1981: cubic convolution keeps quadratics)', () => {
    const f = (x: number, y: number) => 0.001 * x * x - 0.002 * x * y + 0.003 * y * y
    const row = setUp(f, (x, y) => 1 + f(x, y))
    let worst = 0
    for (const [tx, ty] of [
      [0.3125, -0.75],
      [3.5, 1.25],
      [-2.875, 0],
    ] as const) {
      const r = row('simd', 12, [1, 0, tx, 0, 1, ty])
      for (let x = 8; x < W - 8; x++) worst = Math.max(worst, Math.abs(r.value[x]! - ((x & 1) + f(x + tx, 12 + ty))))
    }
    console.log(`quadratic surface: worst ${worst.toExponential(2)}`)
    expect(worst).toBeLessThan(2e-5)
  })

  it('is not trusted where a clipped sample could have touched it, and marked −1 outside the frame', () => {
    const f = (x: number) => (x === 50 ? 1 : x === 60 ? 0.935 : 0.5)
    const row = setUp(f, f)
    const r = row('simd', 20, [1, 0, 0.25, 0, 1, 0.25])
    for (const x of [48, 49, 50, 51]) expect(r.trust[x]).toBe(0)
    expect(r.trust[47]).toBe(1)
    expect(r.trust[60]).toBeCloseTo(0.5, 3)
    const far = row('simd', 20, [1, 0, 101.5, 0, 1, 0])
    expect(far.trust[0]).toBe(-1)
    expect(row('simd', 20, [1, 0, 0, 0, 1, 25]).trust.every((t) => t === -1)).toBe(true)
  })

  it('is the same from both kernels to one part in a million, edges and all', () => {
    const row = setUp(
      (x, y) => 0.5 + 0.5 * Math.sin(x * 0.7 + y),
      (x, y) => 0.5 + 0.5 * Math.cos(x * 0.9 - y),
    )
    let worst = 0
    for (const warp of [
      [1, 0, 0, 0, 1, 0],
      [0.9999, -0.012, 2.3, 0.012, 0.9999, -1.6],
      [1, 0, -6.4, 0, 1, 5.2],
      [1, 0, 95, 0, 1, 0.5],
      [1, 0, -1.3, 0, 1, -1.7],
    ]) {
      for (const y of [0, 1, 7, 20, H - 2, H - 1]) {
        for (const one of [false, true]) {
          const [p, q] = [row('plain', y, warp, one), row('simd', y, warp, one)]
          for (let x = 0; x < W; x++)
            worst = Math.max(worst, Math.abs(p.value[x]! - q.value[x]!), Math.abs(p.trust[x]! - q.trust[x]!))
        }
      }
    }
    console.log(`frame rows, fast against plain: worst ${worst.toExponential(2)}`)
    expect(worst).toBeLessThan(1e-6)
  })
})
