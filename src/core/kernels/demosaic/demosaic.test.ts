import { existsSync } from 'node:fs'
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { seededRandom } from '#core/base'
import {
  bilinear,
  colourAt,
  cpsnr,
  demosaicWith,
  eightBit,
  encodedValue,
  gradientCorrected,
  type Mosaic,
  meanSquare,
  mosaicOf,
  newPlanes,
  OUTSIDE,
  type Planes,
  psnr,
  srgbCode,
  srgbLight,
} from '../../../../test/demosaic.ts'
import { bothKernels, samples } from '../../../../test/kernels.ts'
import { readPng } from '../../../../test/png.ts'
import { DEMOSAIC_REACH } from './demosaic.ts'

const { memory, plain, simd } = bothKernels(16 << 20)
const ours =
  (toe: number) =>
  (m: Mosaic): Planes =>
    demosaicWith(memory, simd, m, toe)

const each = (planes: Planes, f: (v: number) => number): Planes => [
  planes[0].map(f),
  planes[1].map(f),
  planes[2].map(f),
]

const tableIndex = (light: number) => Math.round(65535 * Math.min(Math.max(light, 0), 1))

describe('the yardsticks of the demosaic', () => {
  // Test picture and figures: computed once with an independent array library from the published 2004 kernels.
  const n = 96
  const truth = newPlanes(n * n)
  for (let y = 0, i = 0; y < n; y++) {
    for (let x = 0; x < n; x++, i++) {
      const level = 0.5 + 0.25 * Math.sin((2 * Math.PI * (x * x + y * y)) / 960)
      truth[0][i] = level + 0.08 * Math.sin((2 * Math.PI * x) / 48)
      truth[1][i] = level
      truth[2][i] = level - 0.08 * Math.cos((2 * Math.PI * y) / 48)
    }
  }
  const m = mosaicOf(truth, n, n, 0)
  const decibels = (p: Planes) =>
    ([[0], [1], [2], [0, 1, 2]] as const).map((c) => psnr(meanSquare(p, truth, n, n, 4, c), 1))

  it('give the exact decibels of the zone plate, bilinear and gradient-corrected', () => {
    const a = decibels(bilinear(m))
    const b = decibels(gradientCorrected(m))
    ;[25.0096, 29.4961, 25.248, 26.1588].forEach((v, i) => void expect(a[i]).toBeCloseTo(v, 3))
    ;[34.6813, 34.267, 34.8262, 34.5849].forEach((v, i) => void expect(b[i]).toBeCloseTo(v, 3))
  })

  it('give the exact values of the gradient-corrected method at four sites', () => {
    const p = gradientCorrected(m)
    const rows: [number, number, number[]][] = [
      [10, 10, [0.81875552, 0.74382463, 0.72364263]],
      [10, 11, [0.82789081, 0.74806948, 0.72850767]],
      [11, 10, [0.82652785, 0.74806948, 0.73859396]],
      [11, 11, [0.83111601, 0.75250543, 0.73953649]],
    ]
    for (const [y, x, values] of rows) values.forEach((v, c) => void expect(p[c]![y * n + x]).toBeCloseTo(v, 6))
  })

  it('the demosaic beats both on it', () => {
    console.log(
      'zone plate, R G B all:',
      decibels(ours(0)(m))
        .map((v) => v.toFixed(2))
        .join(' '),
    )
    expect(decibels(ours(0)(m))[3]).toBeGreaterThan(34.5849)
  })
})

const folder = `${samples}/demosaic24`
describe.skipIf(!existsSync(folder))('twenty-four photographs (sample files absent)', () => {
  const pictures = Array.from({ length: existsSync(folder) ? 24 : 0 }, (_, i) => {
    const { width, height, rgb } = readPng(`${folder}/${String(i + 1).padStart(2, '0')}.png`)
    const planes = newPlanes(width * height)
    for (let j = 0; j < width * height; j++) for (let c = 0; c < 3; c++) planes[c]![j] = rgb[3 * j + c]!
    return { width, height, planes }
  })
  const mean = (v: readonly number[]) => v.reduce((a, b) => a + b, 0) / v.length
  const score = (method: (m: Mosaic) => Planes) =>
    mean(
      pictures.map(({ width, height, planes }) => {
        const out = each(method(mosaicOf(planes, width, height, 0)), eightBit)
        return cpsnr(out, planes, width, height, 255, 10)
      }),
    )
  // Tables: steps of 1/65535 in light are under 0.05 of a code value.
  const lights = Float32Array.from({ length: 256 }, (_, v) => srgbLight(v / 255))
  const codes = Uint8Array.from({ length: 65536 }, (_, i) => eightBit(255 * srgbCode(i / 65535)))
  const scoreInLight = (method: (m: Mosaic) => Planes) =>
    mean(
      pictures.map(({ width, height, planes }) => {
        const light = each(planes, (v) => lights[v]!)
        const out = each(method(mosaicOf(light, width, height, 0)), (v) => codes[tableIndex(v)]!)
        return cpsnr(out, planes, width, height, 255, 10)
      }),
    )

  it('the harness gives the known means of two linear methods: 30.24 and 35.78 dB', () => {
    expect(score(bilinear)).toBeCloseTo(30.24, 2)
    expect(score(gradientCorrected)).toBeCloseTo(35.78, 2)
  })

  it('the demosaic reaches 40.5 dB on the code values and 40 dB on linear light', () => {
    const asGiven = score(ours(0))
    const light = scoreInLight(ours(1e-3))
    console.log(
      `mean CPSNR over 24: code values ${asGiven.toFixed(2)} dB; linear light ${light.toFixed(2)} dB (bilinear ${scoreInLight(bilinear).toFixed(2)}, gradient-corrected ${scoreInLight(gradientCorrected).toFixed(2)}, without the encoding ${scoreInLight(ours(0)).toFixed(2)})`,
    )
    expect(asGiven).toBeGreaterThan(40.5)
    expect(light).toBeGreaterThan(40)
  })
})

/** Small mosaics of any phase: mostly dark, some lamps, some negative noise. */
const mosaicsOf = (side: (max: number) => fc.Arbitrary<number>) =>
  fc
    .record({ width: side(70), height: side(50), phase: fc.integer({ min: 0, max: 3 }), seed: fc.integer() })
    .map(({ width, height, phase, seed }): Mosaic => {
      const random = seededRandom(seed)
      const sample = () => (random.uniform() < 0.02 ? 64 * random.uniform() : random.uniform() ** 4) - 0.001
      return { width, height, phase, mosaic: Float32Array.from({ length: width * height }, sample) }
    })
const anyMosaics = mosaicsOf((max) => fc.integer({ min: 2, max }))
// Three samples and their mirror images are even along that axis but for rounding, which then chooses the direction.
const mosaics = mosaicsOf((max) => fc.integer({ min: 2, max }).filter((n) => n !== 3))
const toes = fc.constantFrom(0, 1e-6, 3e-4, 0.05)

describe('the fast demosaic', () => {
  it('agrees with the plain one to 1e-5 of the largest encoded value, at any size, phase and toe', () => {
    let worst = 0
    fc.assert(
      fc.property(mosaics, toes, (m, toe) => {
        const a = demosaicWith(memory, simd, m, toe)
        const b = demosaicWith(memory, plain, m, toe)
        const largest = m.mosaic.reduce((top, v) => Math.max(top, Math.abs(encodedValue(v, toe))), 0)
        for (const c of [0, 1, 2] as const)
          for (let i = 0; i < a[c].length; i++) {
            const apart = Math.abs(encodedValue(a[c][i]!, toe) - encodedValue(b[c][i]!, toe)) / largest
            worst = Math.max(worst, apart)
            expect(apart).toBeLessThan(1e-5)
          }
      }),
      { numRuns: 120 },
    )
    console.log(`fast against plain: worst ${worst.toExponential(1)} of the largest encoded value`)
  })

  it('gives the same bits however the rows are cut, and writes nothing beside them', () => {
    fc.assert(
      fc.property(
        mosaics,
        toes,
        fc.integer({ min: 1, max: 9 }),
        fc.integer({ min: 0, max: 5 }),
        (m, toe, rows, gap) => {
          const cuts = [...Array.from({ length: Math.ceil(m.height / rows) }, (_, i) => i * rows), m.height]
          const whole = demosaicWith(memory, simd, m, toe)
          const cut = demosaicWith(memory, simd, m, toe, cuts, m.width + gap)
          for (const c of [0, 1, 2] as const)
            for (let y = 0; y < m.height; y++) {
              const row = cut[c].subarray(y * (m.width + gap), (y + 1) * (m.width + gap))
              expect(row.subarray(0, m.width)).toEqual(whole[c].subarray(y * m.width, (y + 1) * m.width))
              expect(row.subarray(m.width).every((v) => v === OUTSIDE)).toBe(true)
            }
        },
      ),
      { numRuns: 60 },
    )
  })
})

describe.each([
  ['fast', simd],
  ['plain', plain],
] as const)('the %s demosaic', (_, kernels) => {
  const run = (m: Mosaic, toe: number) => demosaicWith(memory, kernels, m, toe)
  const runs = { numRuns: 40 }

  it('returns measured samples untouched, negative ones too, and finite values everywhere', () => {
    fc.assert(
      fc.property(anyMosaics, toes, (m, toe) => {
        const out = run(m, toe)
        for (let y = 0, i = 0; y < m.height; y++)
          for (let x = 0; x < m.width; x++, i++) expect(out[colourAt(m.phase, y, x)][i]).toBe(m.mosaic[i])
        for (const plane of out) expect(plane.every(Number.isFinite)).toBe(true)
      }),
      runs,
    )
  })

  it('leaves an even colour even, to 2e-6 of its largest channel and the toe in encoded units', () => {
    const level = fc.double({ min: -0.01, max: 64, noNaN: true })
    fc.assert(
      fc.property(mosaics, toes, fc.tuple(level, level, level), ({ width, height, phase }, toe, colour) => {
        const truth = newPlanes(width * height)
        for (const c of [0, 1, 2] as const) truth[c].fill(colour[c])
        const out = run(mosaicOf(truth, width, height, phase), toe)
        const largest = Math.max(...colour.map((v) => Math.abs(encodedValue(v, toe)))) + toe ** 0.25
        for (const c of [0, 1, 2] as const)
          for (const v of out[c])
            expect(Math.abs(encodedValue(v, toe) - encodedValue(truth[c][0]!, toe))).toBeLessThanOrEqual(2e-6 * largest)
      }),
      runs,
    )
  })

  it('scales with its input: sixteen times the light gives sixteen times the result, to 1e-5', () => {
    fc.assert(
      fc.property(mosaics, toes, fc.constantFrom(-3, -1, 1, 2), (m, toe, power) => {
        const k = 16 ** power
        const a = run(m, toe)
        const b = run({ ...m, mosaic: m.mosaic.map((v) => k * v) }, k * toe)
        for (const c of [0, 1, 2] as const)
          for (let i = 0; i < a[c].length; i++)
            expect(Math.abs(b[c][i]! / k - a[c][i]!)).toBeLessThanOrEqual(1e-5 * (Math.abs(a[c][i]!) + toe) + 1e-9)
      }),
      runs,
    )
  })

  it('knows no preferred phase: a picture cut one row or column later gives the same values inside', () => {
    fc.assert(
      fc.property(mosaics, toes, fc.constantFrom([0, 1], [1, 0], [1, 1]), (m, toe, [dy, dx]) => {
        const width = m.width - dx!
        const height = m.height - dy!
        if (width < 2 || height < 2) return
        const mosaic = new Float32Array(width * height)
        for (let y = 0; y < height; y++)
          for (let x = 0; x < width; x++) mosaic[y * width + x] = m.mosaic[(y + dy!) * m.width + x + dx!]!
        const phase = m.phase ^ (dy! * 2 + dx!)
        const a = run(m, toe)
        const b = run({ width, height, phase, mosaic }, toe)
        for (const c of [0, 1, 2] as const)
          for (let y = DEMOSAIC_REACH; y < height - DEMOSAIC_REACH; y++)
            for (let x = DEMOSAIC_REACH; x < width - DEMOSAIC_REACH; x++)
              expect(b[c][y * width + x]).toBe(a[c][(y + dy!) * m.width + x + dx!])
      }),
      runs,
    )
  })
})
