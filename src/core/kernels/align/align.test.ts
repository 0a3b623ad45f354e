import { describe, expect, it } from 'vitest'
import { seededRandom } from '#core/base'
import { bothKernels } from '../../../../test/kernels.ts'
import { ALIGN_SUMS, cubicTable } from './align.ts'

const W = 160
const H = 120
const REF = 4096
const MOV = REF + W * H * 4 + 256
const TABLE = MOV + W * H * 4 + 256
const MOTION = TABLE + 257 * 16 + 256
const OUT = MOTION + 256

/** A smooth picture with a known formula, so that a moved copy is exact. */
const scene = (x: number, y: number) =>
  0.5 + 0.2 * Math.sin(x * 0.31 + y * 0.07) + 0.15 * Math.cos(y * 0.27 - x * 0.11) + 0.1 * Math.sin((x * y) / 900)

function setUp(tx: number, ty: number, turn: number, noise = 0) {
  const both = bothKernels(OUT + 4096)
  const random = seededRandom(7)
  const ref = both.memory.f32(REF, W * H)
  const mov = both.memory.f32(MOV, W * H)
  const cx = (W - 1) / 2
  const cy = (H - 1) / 2
  const [c, s] = [Math.cos(turn), Math.sin(turn)]
  for (let y = 0; y < H; y++) {
    for (let x = 0; x < W; x++) {
      ref[y * W + x] = scene(x, y) + noise * random.normal()
      // Content of the moving picture at q is the scene at W⁻¹(q).
      const dx = x - cx - tx
      const dy = y - cy - ty
      mov[y * W + x] = scene(cx + c * dx + s * dy, cy - s * dx + c * dy) + noise * random.normal()
    }
  }
  both.memory.f32(TABLE, 257 * 4).set(cubicTable())
  const sums = (kind: 'plain' | 'simd', m: { x: number; y: number; t: number }, x0 = 4, x1 = W - 4) => {
    both.memory.f32(MOTION, 6).set([Math.cos(m.t), Math.sin(m.t), m.x, m.y, cx, cy])
    const out = both.memory.f64(OUT, ALIGN_SUMS)
    out.fill(0)
    both[kind].alignSums(REF, MOV, W, H, x0, x1, 4, H - 4, MOTION, TABLE, 0.1, 10, OUT)
    return [...out]
  }
  return sums
}

describe('alignment sums', () => {
  it('vanish on the right-hand side at the true motion', () => {
    const sums = setUp(1.37, -0.62, 0.004)
    const s = sums('simd', { x: 1.37, y: -0.62, t: 0.004 })
    // In pixels: the step the sums would ask for along each axis.
    const step = Math.max(Math.abs(s[6]! / s[0]!), Math.abs(s[7]! / s[3]!))
    console.log(`step asked for at the true motion: ${step.toFixed(5)} px`)
    expect(step).toBeLessThan(0.01)
  })

  it('ask for a step toward the truth from a wrong start', () => {
    const sums = setUp(0.5, 0.25, 0)
    const s = sums('simd', { x: 0, y: 0, t: 0 })
    // moving − reference with moving content further right: residual projects on −gx.
    expect(-s[6]! / s[0]!).toBeGreaterThan(0.2)
    expect(-s[7]! / s[3]!).toBeGreaterThan(0.1)
  })

  it('agree between the fast and the plain kernel to 0.1 % of the diagonal sums', () => {
    let worst = 0
    for (const [x0, x1] of [
      [4, W - 4],
      [5, 98],
      [17, 32],
    ] as const) {
      const sums = setUp(0.4, 0.3, 0.001, 0.01)
      const m = { x: 0.31, y: 0.22, t: 0 }
      const [p, q] = [sums('plain', m, x0, x1), sums('simd', m, x0, x1)]
      const scale = [0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10].map(
        (i) =>
          Math.sqrt(Math.abs([p[0], p[0], p[5], p[3], p[5], p[5], p[0], p[3], p[5], p[9], p[10]][i]!)) **
          (i === 9 || i < 6 ? 2 : 2),
      )
      for (let i = 0; i < ALIGN_SUMS; i++) worst = Math.max(worst, Math.abs(p[i]! - q[i]!) / scale[i]!)
    }
    console.log(`alignment sums, fast against plain: worst ${(worst * 100).toFixed(4)} %`)
    expect(worst).toBeLessThan(1e-3)
  })
})
