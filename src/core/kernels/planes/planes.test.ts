import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { seededRandom } from '#core/base'
import { bothKernels } from '../../../../test/kernels.ts'
import { PLANE_PAD, planeStride } from './planes.ts'

const SRC = 4096
const LEVELS = 2048
const BASE = 1 << 18

function planesOf(
  width: number,
  height: number,
  mosaic: ArrayLike<number>,
  redPhase: number,
  kind: 'plain' | 'simd',
  both = bothKernels(1 << 23),
  noise = 0,
  clip = 2,
  mark = 1,
) {
  const { memory } = both
  const stride = planeStride(width)
  memory.u16(SRC, width * height).set(mosaic as Uint16Array)
  memory.f32(LEVELS, 8).set([0, 0, 0, 0, 1 / 65535, 1 / 65535, 1 / 65535, 1 / 65535])
  const size = (height + 4) * stride * 4 + 256
  const at = (i: number) => BASE + i * size
  both[kind].linearRows(SRC, width, height, 0, width, -2, height + 4, LEVELS, at(0), stride)
  both[kind].planeRows(at(0), stride, width, 0, height, redPhase, noise, noise * 0.01, clip, mark, at(1), size)
  // Back from straight and crossed planes to colours.
  const planes = [1, 2, 3, 4].map((i) =>
    Array.from({ length: height }, (_, y) => [...memory.f32(at(i) + (y * stride + PLANE_PAD) * 4, width)]),
  )
  const pick = (atRed: number, elsewhere: number) =>
    planes[0]!.map((row, y) => row.map((_, x) => planes[(x & 1) === (redPhase & 1) ? atRed : elsewhere]![y]![x]!))
  return [pick(0, 1), pick(1, 0), pick(3, 2)] as [number[][], number[][], number[][]]
}

describe('gradient-corrected linear planes', () => {
  it('agree to 0.002 with the published kernels where the colours’ ratio hardly changes, at four places of a known picture', () => {
    // Values for a picture defined by formula, computed from the 5×5 kernels of Malvar, He, Cutler 2004.
    const n = 96
    const tau = 2 * Math.PI
    const mosaic = new Uint16Array(n * n)
    const pixel = (x: number, y: number) => {
      const l = 0.5 + 0.25 * Math.sin((tau * (x * x + y * y)) / 960)
      return [l + 0.08 * Math.sin((tau * x) / 48), l, l - 0.08 * Math.cos((tau * y) / 48)] as const
    }
    for (let y = 0; y < n; y++)
      for (let x = 0; x < n; x++) mosaic[y * n + x] = Math.round(65535 * pixel(x, y)[y & 1 ? 1 + (x & 1) : x & 1]!)
    const [r, g, b] = planesOf(n, n, mosaic, 0, 'simd')
    const expected: [number, number, number, number, number][] = [
      [10, 10, 0.81875552, 0.74382463, 0.72364263],
      [10, 11, 0.82789081, 0.74806948, 0.72850767],
      [11, 10, 0.82652785, 0.74806948, 0.73859396],
      [11, 11, 0.83111601, 0.75250543, 0.73953649],
    ]
    let worst = 0
    for (const [row, column, er, eg, eb] of expected) {
      worst = Math.max(
        worst,
        Math.abs(r[row]![column]! - er),
        Math.abs(g[row]![column]! - eg),
        Math.abs(b[row]![column]! - eb),
      )
    }
    console.log(`published places: worst difference ${worst.toExponential(2)} of saturation`)
    expect(worst).toBeLessThan(2e-3)
  })

  it('are three times closer to a small orange lamp’s blue than kernels that take colour differences for constant', () => {
    const [w, h] = [24, 24]
    const colour = [1, 0.5, 0.08]
    let ours = 0
    let published = 0
    for (const [dx, dy] of [
      [0, 0],
      [0.5, 0.3],
      [1, 1],
      [1.4, 0.6],
    ] as const) {
      const light = (x: number, y: number) =>
        0.02 + 0.8 * Math.exp(-((x - 12 - dx) ** 2 + (y - 12 - dy) ** 2) / (2 * 1.2 ** 2))
      const site = (x: number, y: number) => (y & 1 ? 1 + (x & 1) : x & 1)
      const v = (x: number, y: number) => colour[site(x, y)]! * light(x, y)
      const mosaic = Array.from({ length: w * h }, (_, i) => Math.round(65535 * v(i % w, Math.floor(i / w))))
      const blue = planesOf(w, h, mosaic, 0, 'simd')[2]
      for (let y = 8; y < 18; y += 2) {
        for (let x = 8; x < 18; x += 2) {
          // Blue at a red site by the published kernel: 6 in the middle, 2 at the corners, −1.5 two away, over 8.
          const corners = v(x - 1, y - 1) + v(x + 1, y - 1) + v(x - 1, y + 1) + v(x + 1, y + 1)
          const far = v(x - 2, y) + v(x + 2, y) + v(x, y - 2) + v(x, y + 2)
          const truth = colour[2]! * light(x, y)
          published = Math.max(published, Math.abs((6 * v(x, y) + 2 * corners - 1.5 * far) / 8 - truth))
          ours = Math.max(ours, Math.abs(blue[y]![x]! - truth))
        }
      }
    }
    console.log(
      `blue of an orange lamp: worst error ${ours.toFixed(4)}, with constant differences ${published.toFixed(4)} of saturation`,
    )
    expect(ours).toBeLessThan(published / 3)
  })

  it('leave an even field even, to its very edge, in every phase', () => {
    let worst = 0
    for (let phase = 0; phase < 4; phase++) {
      const [w, h] = [21, 14]
      const colours = [0.5, 0.25, 0.125]
      const red = [phase >> 1, phase & 1]
      const mosaic = Array.from({ length: w * h }, (_, i) => {
        const [y, x] = [Math.floor(i / w), i % w]
        const c = (y & 1) === red[0] && (x & 1) === red[1] ? 0 : (y & 1) !== red[0] && (x & 1) !== red[1] ? 2 : 1
        return Math.round(colours[c]! * 65535)
      })
      planesOf(w, h, mosaic, phase, 'simd').forEach((plane, c) => {
        for (const row of plane) for (const v of row) worst = Math.max(worst, Math.abs(v - colours[c]!))
      })
    }
    console.log(`even field: worst departure ${worst.toExponential(2)}`)
    expect(worst).toBeLessThan(2e-5)
  })

  it('put no colour beyond its own samples around a lamp that clips with nobody to stand in', () => {
    fc.assert(
      fc.property(fc.integer({ min: 0, max: 3 }), fc.integer(), (phase, seed) => {
        const [w, h] = [20, 16]
        const random = seededRandom(seed)
        // A disc at saturation in a random field of half light.
        const lamp = (i: number) => Math.hypot((i % w) - 9, Math.floor(i / w) - 8) < 3
        const mosaic = Array.from({ length: w * h }, (_, i) => (lamp(i) ? 65535 : Math.round(30000 * random.uniform())))
        const planes = planesOf(w, h, mosaic, phase, 'simd', bothKernels(1 << 22), 0.01, 0.96, 0)
        // Right at the lamp every missing value has a clipped sample in reach: it is a mean, so within its neighbours.
        for (const plane of planes)
          for (let y = 6; y <= 10; y++)
            for (let x = 7; x <= 11; x++) {
              expect(plane[y]![x]!).toBeLessThanOrEqual(1.0001)
              expect(plane[y]![x]!).toBeGreaterThanOrEqual(-1e-6)
            }
      }),
      { numRuns: 60 },
    )
  })

  it('are bit for bit the same from both kernels, with noise and clipping at work', () => {
    const both = bothKernels(1 << 23)
    fc.assert(
      fc.property(
        fc.integer({ min: 5, max: 60 }),
        fc.integer({ min: 5, max: 20 }),
        fc.integer({ min: 0, max: 3 }),
        fc.integer(),
        (w, h, phase, seed) => {
          const random = seededRandom(seed)
          const mosaic = Uint16Array.from({ length: w * h }, () => random.uniform() * 65536)
          expect(planesOf(w, h, mosaic, phase, 'simd', both, 0.05, 0.9, seed & 1)).toEqual(
            planesOf(w, h, mosaic, phase, 'plain', both, 0.05, 0.9, seed & 1),
          )
        },
      ),
      { numRuns: 60 },
    )
  })
})
