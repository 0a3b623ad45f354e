import { describe, expect, it } from 'vitest'
import { rgbProfile, srgbProfile } from './icc.ts'

const bytes = srgbProfile()
const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength)
const ascii = (at: number, n: number) => String.fromCharCode(...bytes.subarray(at, at + n))

/** Tag data by signature, read by the offsets of the tag table (ICC.1:2001-04, 6.2). */
function tag(name: string): { at: number; size: number } {
  for (let i = 0; i < view.getUint32(128); i++) {
    const entry = 132 + i * 12
    if (ascii(entry, 4) === name) return { at: view.getUint32(entry + 4), size: view.getUint32(entry + 8) }
  }
  throw new Error(`no tag ${name}`)
}
const fixedAt = (at: number) => view.getInt32(at) / 65536
const xyzOf = (name: string) => [8, 12, 16].map((o) => fixedAt(tag(name).at + o))

describe('the sRGB profile', () => {
  it('has the header of an RGB display profile: size, version 2.4, classes, signature, D50', () => {
    expect(view.getUint32(0)).toBe(bytes.length)
    expect(view.getUint32(8)).toBe(0x02400000)
    expect([ascii(12, 4), ascii(16, 4), ascii(20, 4), ascii(36, 4)]).toEqual(['mntr', 'RGB ', 'XYZ ', 'acsp'])
    expect([68, 72, 76].map((o) => view.getUint32(o))).toEqual([0xf6d6, 0x10000, 0xd32d])
  })

  it('has every tag that a three-component matrix profile must have, inside the file and on a boundary of four', () => {
    for (const name of ['desc', 'cprt', 'wtpt', 'rXYZ', 'gXYZ', 'bXYZ', 'rTRC', 'gTRC', 'bTRC']) {
      const { at, size } = tag(name)
      expect(at % 4).toBe(0)
      expect(at + size).toBeLessThanOrEqual(bytes.length)
    }
  })

  it('has the colorants of sRGB adapted to D50 (Bradford) to 0.0002, and they sum to D50 exactly', () => {
    // Published to four digits in the sRGB profiles of the International Color Consortium.
    const published = { rXYZ: [0.436, 0.2225, 0.0139], gXYZ: [0.3851, 0.7169, 0.0971], bXYZ: [0.1431, 0.0606, 0.7141] }
    let worst = 0
    for (const [name, wanted] of Object.entries(published)) {
      xyzOf(name).forEach((v, i) => {
        worst = Math.max(worst, Math.abs(v - wanted[i]!))
      })
    }
    console.log(`colorants: worst difference ${worst.toFixed(5)}`)
    expect(worst).toBeLessThan(2e-4)
    for (const [i, d50] of [0xf6d6, 0x10000, 0xd32d].entries()) {
      const sum = ['rXYZ', 'gXYZ', 'bXYZ'].reduce((n, name) => n + view.getInt32(tag(name).at + 8 + i * 4), 0)
      expect(sum).toBe(d50)
    }
  })

  it('has the transfer function of IEC 61966-2-1: published values to 2e-5 by straight lines between entries', () => {
    const { at } = tag('gTRC')
    const count = view.getUint32(at + 8)
    const decode = (e: number) => {
      const x = e * (count - 1)
      const i = Math.min(Math.floor(x), count - 2)
      const entry = (k: number) => view.getUint16(at + 12 + k * 2) / 65535
      return entry(i) + (x - i) * (entry(i + 1) - entry(i))
    }
    const published = [
      [1, 0.000303527],
      [10, 0.0030352698],
      [11, 0.0033465358],
      [50, 0.0318960331],
      [118, 0.1811642442],
      [128, 0.2158605001],
      [188, 0.502886458],
      [254, 0.9911020971],
      [255, 1],
    ] as const
    const worst = Math.max(...published.map(([code, linear]) => Math.abs(decode(code / 255) - linear)))
    console.log(`transfer function: worst difference ${worst.toExponential(1)}`)
    expect(worst).toBeLessThan(2e-5)
  })
})

describe('the profiles of other spaces', () => {
  const tagOf = (profile: Uint8Array, name: string): number => {
    const at = new DataView(profile.buffer, profile.byteOffset, profile.byteLength)
    for (let i = 0; i < at.getUint32(128); i++)
      if (Buffer.from(profile.subarray(132 + i * 12, 136 + i * 12)).toString() === name)
        return at.getUint32(136 + i * 12)
    throw new Error(`no tag ${name}`)
  }

  it('have the colorants of Display P3 adapted to D50, to 0.0002', () => {
    // As published for displays (from memory: SMPTE EG 432-1 primaries, D65, Bradford).
    const published = { rXYZ: [0.5151, 0.2412, -0.0011], gXYZ: [0.292, 0.6922, 0.0419], bXYZ: [0.1571, 0.0666, 0.7841] }
    const profile = rgbProfile('display-p3')
    const at = new DataView(profile.buffer, profile.byteOffset, profile.byteLength)
    let worst = 0
    for (const [name, wanted] of Object.entries(published)) {
      wanted.forEach((w, i) => {
        worst = Math.max(worst, Math.abs(at.getInt32(tagOf(profile, name) + 8 + 4 * i) / 65536 - w))
      })
    }
    console.log(`Display P3: worst difference ${worst.toFixed(5)}`)
    expect(worst).toBeLessThan(2e-4)
  })

  it('of linear light have the identity as their curve, which is a curve without entries', () => {
    for (const name of ['linear-srgb', 'linear-bt2020'] as const) {
      const profile = rgbProfile(name)
      const at = new DataView(profile.buffer, profile.byteOffset, profile.byteLength)
      expect(at.getUint32(tagOf(profile, 'rTRC') + 8)).toBe(0)
    }
  })
})
