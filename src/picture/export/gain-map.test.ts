import { readFileSync } from 'node:fs'
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { decodeSrgb, encodeSrgb } from '#core/colour'
import { gainMapPayload, readGainMapPayload } from '#core/formats'
import { brighterLight } from './brighter.ts'
import { gainCode, gainMapBetween, gainStops } from './gain-map.ts'

const truth = JSON.parse(readFileSync(new URL('../../../truth/gain-map/rows.json', import.meta.url), 'utf8')) as {
  payloadHex: string
  headrooms: number[]
  rows: { sdr: number; hdr: number; stops: number; code: number; shown: number[] }[]
}
const max = Math.log2(5)
const channel = { min: 0, max, gamma: 1, baseOffset: 1 / 64, alternateOffset: 1 / 64 }
const metadata = { channels: [channel], baseHeadroom: 0, alternateHeadroom: max }

/** ISO 21496-1 as it is printed, for any headroom; nothing of the program is in it. */
function shown(sdr: number, code: number, headroom: number): number {
  const weight = Math.min(Math.max(Math.log2(headroom) / max, 0), 1)
  return (sdr + 1 / 64) * 2 ** (weight * max * (code / 255)) - 1 / 64
}

describe('a gain', () => {
  it('is that of the published rows, to their digits, and so is the light that it gives', () => {
    let worst = 0
    for (const { sdr, hdr, stops, code, shown: lights } of truth.rows) {
      expect(gainStops(sdr, hdr)).toBeCloseTo(stops, 6)
      expect(gainCode(gainStops(sdr, hdr), 0, max)).toBe(code)
      truth.headrooms.forEach((headroom, i) => {
        worst = Math.max(worst, Math.abs(shown(sdr, code, headroom) - lights[i]!))
      })
    }
    console.log(`light of the published rows: worst difference ${worst.toExponential(1)}`)
    expect(worst).toBeLessThan(6e-7)
  })

  it('of a display that shows all of it is what the proof reads from a file: 1e-6 of the published rows of 8-bit codes', () => {
    for (const { sdr, code } of truth.rows) {
      const base = Math.round(255 * encodeSrgb(sdr))
      const light = brighterLight(Uint8Array.of(base, base, base), Uint8Array.of(code, code, code), metadata)
      expect(light(1)).toBeCloseTo(shown(decodeSrgb(base / 255), code, 8), 6)
    }
  })

  it('has the published bytes as metadata, and they are read back', () => {
    const bytes = gainMapPayload(metadata)
    expect(Buffer.from(bytes).toString('hex')).toBe(truth.payloadHex)
    const back = readGainMapPayload(bytes)
    expect(back.alternateHeadroom).toBeCloseTo(max, 6)
    expect(back.channels[0]).toMatchObject({ min: 0, gamma: 1, baseOffset: 1 / 64, alternateOffset: 1 / 64 })
  })

  it('as metadata survives its bytes to a millionth of a stop, whatever it is', () => {
    const stops = fc.double({ min: -12, max: 12, noNaN: true })
    const one = fc.record({
      min: stops,
      max: stops,
      gamma: fc.double({ min: 0.1, max: 4, noNaN: true }),
      baseOffset: fc.double({ min: 0, max: 1, noNaN: true }),
      alternateOffset: fc.double({ min: 0, max: 1, noNaN: true }),
    })
    fc.assert(
      fc.property(fc.oneof(fc.tuple(one), fc.tuple(one, one, one)), (channels) => {
        const back = readGainMapPayload(gainMapPayload({ channels, baseHeadroom: 0, alternateHeadroom: 3 }))
        expect(back.channels.length).toBe(channels.length)
        back.channels.forEach((c, i) => {
          for (const key of ['min', 'max', 'gamma', 'baseOffset', 'alternateOffset'] as const)
            expect(Math.abs(c[key] - channels[i]![key])).toBeLessThanOrEqual(5.1e-7)
        })
      }),
    )
  })

  it('whose bytes are cut or of another version is refused by name', () => {
    const bytes = gainMapPayload(metadata)
    for (let n = 0; n < bytes.length; n++)
      expect(() => readGainMapPayload(bytes.subarray(0, n))).toThrowError(
        expect.objectContaining({ code: 'gain-map-metadata' }),
      )
    const later = Uint8Array.from(bytes)
    later[1] = 1
    expect(() => readGainMapPayload(later)).toThrowError(expect.objectContaining({ code: 'gain-map-metadata' }))
  })
})

describe('a gain map', () => {
  it('of 8 bits gives back the brighter rendition within 1 %, and black stays black', () => {
    const width = 256
    const codes = Uint8Array.from({ length: width * 3 }, (_, i) => Math.floor(i / 3))
    const white = 2 ** 2.5
    const light = (i: number) => {
      const sdr = decodeSrgb(codes[i]! / 255)
      return sdr * (1 + (white - 1) * sdr ** 2)
    }
    const data = Uint16Array.from(codes, (_, i) => Math.round(65535 * encodeSrgb(light(i) / white)))
    const size = { width, height: 1, space: 'srgb' } as const
    const map = gainMapBetween({ ...size, data: codes }, { ...size, data, headroomStops: 2.5 })
    const found = brighterLight(codes, map.data, map.metadata)
    let worst = 0
    for (let i = 0; i < data.length; i++) worst = Math.max(worst, Math.abs(found(i) - light(i)) / (light(i) + 1 / 64))
    console.log(`gain map of 8 bits: worst difference ${(100 * worst).toFixed(2)} % of the light`)
    expect(worst).toBeLessThan(0.01)
    expect(Math.abs(found(0))).toBeLessThan(1e-4)
  })

  it('between two equal pictures changes nothing by more than half a code', () => {
    const data = Uint8Array.from({ length: 300 }, (_, i) => (i * 7) % 256)
    const same = Uint16Array.from(data, (v) => v * 257)
    const size = { width: 100, height: 1, space: 'srgb' } as const
    const { data: map, metadata: gains } = gainMapBetween({ ...size, data }, { ...size, data: same, headroomStops: 0 })
    const found = brighterLight(data, map, gains)
    for (let i = 0; i < data.length; i++) expect(found(i)).toBeCloseTo(decodeSrgb(data[i]! / 255), 4)
  })
})
