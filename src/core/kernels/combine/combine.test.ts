import { describe, expect, it } from 'vitest'
import { seededRandom } from '#core/base'
import { bothKernels } from '../../../../test/kernels.ts'
import { PLANE_PAD, planeStride } from '../planes/planes.ts'
import { COMBINE_WORDS } from './combine.ts'

const ENTRIES = 1024
const CELLS = 4096
const ROWS = 65536

/** Frames of one row: values, trusts, and the numbers of the noise model. */
function combine(
  width: number,
  frames: { value: number[]; trust: number[]; gain: number; floor: number; s: number; o: number }[],
  expected: number,
) {
  const both = bothKernels(1 << 22)
  const { memory } = both
  const stride = planeStride(width)
  frames.forEach((f, k) => {
    const v = ROWS + k * 2 * stride * 4
    memory.f32(v + PLANE_PAD * 4, width).set(f.value)
    memory.f32(v + stride * 4 + PLANE_PAD * 4, width).set(f.trust)
    memory.u32(ENTRIES + k * COMBINE_WORDS * 4, 2).set([v, v + stride * 4])
    memory.f32(ENTRIES + k * COMBINE_WORDS * 4 + 8, 6).set([f.gain, f.floor, f.s, f.s, f.o, f.o])
  })
  const cells = Math.ceil(width / 16)
  memory.f32(CELLS, cells * 4).fill(expected)
  const out = ROWS + 2 * frames.length * stride * 4 + 4096
  const run = (kind: 'plain' | 'simd') => {
    const clipped = both[kind].combineRow(
      ENTRIES,
      frames.length,
      0,
      width,
      CELLS,
      CELLS,
      0.3,
      cells,
      out,
      out + width * 4 + 256,
    )
    return { phi: [...memory.f32(out, width)], variance: [...memory.f32(out + width * 4 + 256, width)], clipped }
  }
  return { plain: run('plain'), simd: run('simd') }
}

describe('the inverse-variance mean', () => {
  it('gives the weights and signal-to-noise published closed forms give for 1/8, 1/2 and 2 s at 2 e− read noise', () => {
    // Structure: Hasinoff, Durand, Freeman 2010; the figures follow from w = t²/(Φt + r²), r = 2 e−. In electrons a second.
    const cases = [
      { phi: 4, weights: [0.009174, 0.110092, 0.880734], snr: 7.822 },
      { phi: 40, weights: [0.029046, 0.174274, 0.79668], snr: 19.806 },
      { phi: 400, weights: [0.044584, 0.188828, 0.766587], snr: 30.164 },
      { phi: 2000, weights: [0.046976, 0.190149, 0.762875], snr: 37.192 },
    ]
    const times = [1 / 8, 1 / 2, 2]
    let worst = 0
    for (const c of cases) {
      // One frame at a time says 1 and the others 0, so the result is that frame's weight.
      for (let pick = 0; pick < 3; pick++) {
        const frames = times.map((t, k) => ({
          value: Array(8).fill(k === pick ? t * c.phi : 0) as number[],
          trust: Array(8).fill(1) as number[],
          gain: 1 / t,
          floor: 0,
          s: 1e9 / t,
          o: (1e9 * 4) / t / t,
        }))
        // Variances a billion times too large keep the mean inside five deviations, so the expected value is what weighs.
        const { simd } = combine(8, frames, c.phi)
        worst = Math.max(worst, Math.abs(simd.phi[0]! / c.phi - c.weights[pick]!))
      }
      const plainFrames = times.map((t) => ({
        value: Array(8).fill(t * c.phi) as number[],
        trust: Array(8).fill(1) as number[],
        gain: 1 / t,
        floor: 0,
        s: 1 / t,
        o: 4 / t / t,
      }))
      const { simd } = combine(8, plainFrames, c.phi)
      const snr = 20 * Math.log10(c.phi / Math.sqrt(simd.variance[0]!))
      worst = Math.max(worst, Math.abs(snr - c.snr) / 100)
    }
    console.log(`weights against the closed form: worst ${worst.toExponential(2)}`)
    expect(worst).toBeLessThan(1e-5)
  })

  it('counts samples clipped in every frame and falls back on the frame with the floor', () => {
    const frames = [
      { value: [1, 1, 1, 1, 1], trust: [0, 0, 0, 1, -1], gain: 1, floor: 0, s: 1e-4, o: 1e-8 },
      { value: [0.9, 0.9, 0.9, 0.9, 0.9], trust: [0, 0, 0, 0, -1], gain: 4, floor: 1e-6, s: 4e-4, o: 1e-7 },
    ]
    const { plain, simd } = combine(5, frames, 1)
    expect(simd.clipped).toBe(4)
    expect(plain.clipped).toBe(4)
    expect(simd.phi[0]).toBeCloseTo(3.6, 4)
    expect(simd.phi[3]).toBeCloseTo(1, 4)
    expect(simd.phi[4]).toBe(0)
  })

  it('is the same from both kernels to one part in 100,000', () => {
    const random = seededRandom(3)
    let worst = 0
    for (const width of [5, 16, 33, 100]) {
      const frames = [1, 2, 4].map((gain) => ({
        value: Array.from({ length: width }, () => 0.2 / gain + 0.3 * random.uniform()),
        trust: Array.from({ length: width }, () => (random.uniform() < 0.1 ? -1 : random.uniform())),
        gain,
        floor: gain === 4 ? 1e-6 : 0,
        s: 1e-4 * gain,
        o: 1e-7 * gain * gain,
      }))
      const { plain, simd } = combine(width, frames, 0.3)
      for (let i = 0; i < width; i++)
        worst = Math.max(worst, Math.abs(simd.phi[i]! - plain.phi[i]!) / Math.max(1e-3, Math.abs(plain.phi[i]!)))
    }
    console.log(`merge of a row, fast against plain: worst relative difference ${worst.toExponential(2)}`)
    expect(worst).toBeLessThan(1e-5)
  })
})
