import { readFileSync } from 'node:fs'
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { Failure } from '#core/base'
import { failureOf } from '../../../test/tiff-bytes.ts'
import { opcodeExtent, parseOpcodeList } from './opcodes.ts'

/** Vectors made outside this project from DNG 1.6 chapter 7; see the README beside them. */
const truth = JSON.parse(readFileSync(new URL('../../../truth/dng-opcodes/opcodes.json', import.meta.url), 'utf8'))
const hex = (text: string) => Uint8Array.from(Buffer.from(text, 'hex'))
const gainMap = hex(truth.gainMap.hex)
const vignetteAndWarp = hex(truth.vignetteAndWarp.hex)
const mixed = hex(truth.mixed.hex)

const u32 = (...values: number[]) => values.flatMap((v) => [v >>> 24, (v >>> 16) & 255, (v >>> 8) & 255, v & 255])
const opcode = (id: number, flags: number, data: readonly number[]) => [
  ...u32(id, 0x01030000, flags, data.length),
  ...data,
]
const listOf = (...opcodes: number[][]) => Uint8Array.from([...u32(opcodes.length), ...opcodes.flat()])

describe('an opcode list', () => {
  it('gives the gain map of the vector, whose literal formula yields the published gains', () => {
    const [only] = parseOpcodeList(gainMap, 2).opcodes
    expect(only).toMatchObject({
      list: 2,
      id: 9,
      name: 'GainMap',
      optional: true,
      skipForPreview: false,
      version: 0x01030000,
    })
    const map = only!.content
    if (map.kind !== 'gain-map') throw new Error('not a gain map')
    expect(map.area).toEqual({ top: 0, left: 0, bottom: 6, right: 8, plane: 0, planes: 1, rowPitch: 2, columnPitch: 2 })
    expect([map.pointsV, map.pointsH, map.spacingV, map.spacingH, map.originV, map.originH, map.mapPlanes]).toEqual([
      2, 2, 1, 1, 0, 0, 1,
    ])
    expect([...map.gains]).toEqual([1, 2, 3, 4])
    let worst = 0
    for (const [place, gain] of Object.entries(truth.gainMap.gainLiteral as Record<string, number>)) {
      const [row, column] = place.split(',').map(Number) as [number, number]
      const v = row / 6
      const h = column / 8
      const [a, b, c, d] = map.gains as unknown as [number, number, number, number]
      worst = Math.max(worst, Math.abs((a * (1 - h) + b * h) * (1 - v) + (c * (1 - h) + d * h) * v - gain))
    }
    console.log(`gain map: worst difference from the published gains ${worst.toExponential(1)}`)
    expect(worst).toBeLessThan(1e-6)
  })

  it('gives the vignette and the warp of the vector, terms and centre', () => {
    const [vignette, warp] = parseOpcodeList(vignetteAndWarp, 3).opcodes
    expect(vignette!.content).toEqual({
      kind: 'vignette-radial',
      terms: [0.2, 0.1, 0, 0, 0],
      centreX: 0.5,
      centreY: 0.5,
    })
    expect(warp!.content).toEqual({
      kind: 'warp-rectilinear',
      planes: [[1, -0.05, 0.01, 0, 0.002, -0.001]],
      centreX: 0.5,
      centreY: 0.5,
    })
  })

  it('reads the seven mixed opcodes of the vector to its last byte', () => {
    const { opcodes, leftOut } = parseOpcodeList(mixed, 2)
    expect(leftOut).toEqual([])
    expect(opcodes.map((o) => o.name)).toEqual([
      'MapPolynomial',
      'DeltaPerRow',
      'ScalePerColumn',
      'FixBadPixelsList',
      'TrimBounds',
      'MapTable',
      'WarpRectilinear2',
    ])
    const fields = opcodes.map((o) => (o.content.kind === 'other' ? o.content.fields : {}))
    const terms = fields[0]!['coefficients'] as number[]
    for (const [x, y] of Object.entries(truth.mixed.mapPolynomial as Record<string, number>))
      expect(terms.reduce((sum, c, i) => sum + c * Number(x) ** i, 0)).toBeCloseTo(y, 12)
    expect((fields[1]!['values'] as number[]).map((v) => +v.toFixed(6))).toEqual([0.01, -0.02])
    expect(fields[2]!['values']).toEqual([1, 1.5, 0.5, 2])
    expect(fields[3]).toEqual({ bayerPhase: 0, points: [2, 4], rectangles: [0, 0, 1, 2] })
    expect(fields[4]).toEqual({ top: 1, left: 1, bottom: 5, right: 7 })
    expect(fields[5]!['table']).toEqual([0, 10, 40])
    expect(fields[6]).toMatchObject({ planes: 1, centreX: 0.5, centreY: 0.5, reciprocalRadial: 0 })
  })

  it('refuses a required opcode that is unknown, and leaves out an optional one', () => {
    expect(failureOf(() => parseOpcodeList(listOf(opcode(77, 0, [1, 2])), 1))).toEqual({
      kind: 'unsupported',
      code: 'opcode-unknown',
      facts: { list: 1, id: 77, name: 'unknown' },
    })
    const found = parseOpcodeList(listOf(opcode(77, 1, [1, 2]), opcode(6, 3, u32(0, 0, 1, 1))), 1)
    expect(found.leftOut).toMatchObject([{ reason: 'opcode-unknown', facts: { list: 1, id: 77 } }])
    expect(found.opcodes).toMatchObject([{ id: 6, optional: true, skipForPreview: true }])
  })

  it('refuses a required opcode whose data do not fit their counts, and leaves out an optional one', () => {
    const short = new Array<number>(40).fill(0)
    expect(failureOf(() => parseOpcodeList(listOf(opcode(3, 0, short)), 3))).toMatchObject({
      kind: 'malformed',
      code: 'opcode-data',
    })
    expect(parseOpcodeList(listOf(opcode(3, 1, short)), 3).leftOut).toMatchObject([
      { reason: 'opcode-data', facts: { id: 3 } },
    ])
  })

  it('is malformed where it ends before its count does', () => {
    for (const length of [0, 3, 7, 40, 111])
      expect(failureOf(() => parseOpcodeList(gainMap.subarray(0, length), 2)).code).toBe('opcode-list')
  })

  it('may be empty', () => {
    expect(parseOpcodeList(listOf(), 3)).toEqual({ opcodes: [], leftOut: [] })
  })

  it('refuses a map of four thousand million points without allocating it', () => {
    const huge = gainMap.slice()
    huge.set(u32(65535, 65535), 20 + 32)
    const { leftOut } = parseOpcodeList(huge, 2)
    expect(leftOut).toMatchObject([{ reason: 'opcode-data', facts: { expectedBytes: 76 + 4 * 65535 * 65535 } }])
  })

  it('throws nothing but Failures with any bytes overwritten', () => {
    fc.assert(
      fc.property(
        fc.constantFrom(gainMap, vignetteAndWarp, mixed),
        fc.nat(),
        fc.uint8Array({ minLength: 1, maxLength: 8 }),
        (good, place, junk) => {
          const bytes = good.slice()
          const at = place % bytes.length
          bytes.set(junk.subarray(0, bytes.length - at), at)
          try {
            parseOpcodeList(bytes, 1)
          } catch (error) {
            expect(error).toBeInstanceOf(Failure)
          }
        },
      ),
      { numRuns: 3000, seed: 6 },
    )
  })
})

describe('the extent of an opcode', () => {
  const area = { top: 0, left: 0, bottom: 0, right: 0, plane: 0, planes: 1, rowPitch: 1, columnPitch: 1 }
  it('is the whole picture for an empty rectangle', () => {
    expect(opcodeExtent(area, 40, 30)).toMatchObject({ top: 0, left: 0, bottom: 30, right: 40 })
  })
  it('is cut to the picture', () => {
    expect(opcodeExtent({ ...area, top: 2, left: 50, bottom: 99, right: 60 }, 40, 30)).toMatchObject({
      top: 2,
      left: 40,
      bottom: 30,
      right: 40,
    })
  })
})
