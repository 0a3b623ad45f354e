import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { bothKernels } from '../../../../test/kernels.ts'
import { floatFromHalf, halfFromFloat } from './half.ts'

describe('half floats', () => {
  it('agree with the values IEEE 754 gives for one, 0.18, the largest, the overflow and the smallest', () => {
    expect(halfFromFloat(1)).toBe(0x3c00)
    expect(halfFromFloat(0.18)).toBe(0x31c3)
    expect(halfFromFloat(65504)).toBe(0x7bff)
    expect(halfFromFloat(65520)).toBe(0x7c00)
    expect(halfFromFloat(5.96e-8)).toBe(0x0001)
    expect(floatFromHalf(0x31c3)).toBeCloseTo(0.18005371, 8)
  })

  it('come back unchanged for every one of the 65,536 bit patterns', () => {
    let worst = 0
    for (let h = 0; h < 65536; h++) {
      const f = floatFromHalf(h)
      if (Number.isNaN(f)) expect(floatFromHalf(halfFromFloat(f))).toBeNaN()
      else worst = Math.max(worst, Math.abs(halfFromFloat(f) - h))
    }
    console.log(`half round trip: worst difference ${worst} codes`)
    expect(worst).toBe(0)
  })

  it('are bit for bit the same from the fast kernel', () => {
    const { memory, plain, simd } = bothKernels(1 << 20)
    fc.assert(
      fc.property(fc.array(fc.float(), { minLength: 1, maxLength: 200 }), (values) => {
        memory.f32(1024, values.length).set(values)
        plain.floatToHalf(1024, 16384, values.length)
        simd.floatToHalf(1024, 32768, values.length)
        expect([...memory.u16(32768, values.length)]).toEqual([...memory.u16(16384, values.length)])
      }),
      { numRuns: 500 },
    )
  })
})
