import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { decodeSrgb, encodeSrgb, srgbDecodeTable, srgbEncodeTable } from './srgb.ts'

describe('the sRGB transfer function', () => {
  // IEC 61966-2-1 evaluated by two colour libraries; nine digits.
  it.each([
    [0.001, 0.01292],
    [0.01, 0.099852823],
    [0.05, 0.247800528],
    [0.18, 0.46135613],
    [0.2140411405, 0.5],
    [0.25, 0.53709873],
    [0.5, 0.735356983],
    [0.9, 0.954687172],
    [1, 1],
  ])('encodes %f as %f', (linear, encoded) => {
    expect(encodeSrgb(linear)).toBeCloseTo(encoded, 9)
  })

  it.each([
    [1, 0.000303527],
    [10, 0.0030352698],
    [11, 0.0033465358],
    [50, 0.0318960331],
    [118, 0.1811642442],
    [127, 0.2122307574],
    [128, 0.2158605001],
    [188, 0.502886458],
    [200, 0.5775804404],
    [254, 0.9911020971],
    [255, 1],
  ])('decodes the 8-bit code %i as %f', (code, linear) => {
    expect(decodeSrgb(code / 255)).toBeCloseTo(linear, 9)
    expect(srgbDecodeTable(256)[code]).toBeCloseTo(linear, 7)
  })

  it('comes back from a round trip, below 0 and above 1 too', () => {
    fc.assert(
      fc.property(fc.double({ min: -20, max: 20, noNaN: true }), (v) => {
        // The standard's two thresholds meet to 1e-7 only; a value between them moves by that much.
        expect(Math.abs(decodeSrgb(encodeSrgb(v)) - v)).toBeLessThan(1e-7 + Math.abs(v) * 1e-12)
      }),
    )
  })

  it('from a table of 4096 entries, interpolated, is within 0.005 of one 8-bit code', () => {
    const table = srgbEncodeTable(4096)
    let worst = 0
    for (let i = 0; i <= 1_000_000; i++) {
      const at = (i / 1_000_000) * 4095
      const k = Math.min(Math.floor(at), 4094)
      const value = table[k]! + (table[k + 1]! - table[k]!) * (at - k)
      worst = Math.max(worst, Math.abs(value - encodeSrgb(i / 1_000_000)) * 255)
    }
    console.log(`interpolated sRGB table: worst ${worst.toFixed(5)} of an 8-bit code`)
    expect(worst).toBeLessThan(0.005)
  })
})
