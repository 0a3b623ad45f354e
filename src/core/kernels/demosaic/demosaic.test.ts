import { existsSync } from 'node:fs'
import { describe, expect, it } from 'vitest'
import {
  bilinear,
  cpsnr,
  eightBit,
  gradientCorrected,
  type Mosaic,
  meanSquare,
  mosaicOf,
  newPlanes,
  type Planes,
  psnr,
  srgbCode,
  srgbLight,
} from '../../../../test/demosaic.ts'
import { samples } from '../../../../test/kernels.ts'
import { readPng } from '../../../../test/png.ts'
import { demosaicInto } from './demosaic.ts'

const ours =
  (toe: number) =>
  (m: Mosaic): Planes => {
    const out = newPlanes(m.mosaic.length)
    demosaicInto({ ...m, y0: 0, y1: m.height, toe, stride: m.width }, out)
    return out
  }

const each = (planes: Planes, f: (v: number) => number): Planes => [
  planes[0].map(f),
  planes[1].map(f),
  planes[2].map(f),
]

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
  const scoreInLight = (method: (m: Mosaic) => Planes) =>
    mean(
      pictures.map(({ width, height, planes }) => {
        const light = each(planes, (v) => srgbLight(v / 255))
        const out = each(method(mosaicOf(light, width, height, 0)), (v) => eightBit(255 * srgbCode(v)))
        return cpsnr(out, planes, width, height, 255, 10)
      }),
    )

  it('the harness gives the known means of two linear methods: 30.24 and 35.78 dB', () => {
    expect(score(bilinear)).toBeCloseTo(30.24, 2)
    expect(score(gradientCorrected)).toBeCloseTo(35.78, 2)
  })

  it('the demosaic reaches 40.5 dB on the code values and 40 dB on linear light', () => {
    const codes = score(ours(0))
    const light = scoreInLight(ours(1e-3))
    console.log(
      `mean CPSNR over 24: code values ${codes.toFixed(2)} dB; linear light ${light.toFixed(2)} dB (bilinear ${scoreInLight(bilinear).toFixed(2)}, gradient-corrected ${scoreInLight(gradientCorrected).toFixed(2)}, without the encoding ${scoreInLight(ours(0)).toFixed(2)})`,
    )
    expect(codes).toBeGreaterThan(40.5)
    expect(light).toBeGreaterThan(40)
  })
})
