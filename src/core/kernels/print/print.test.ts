import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { bothKernels } from '../../../../test/kernels.ts'
import type { Kernels } from '../table.ts'
import { encodedSrgb } from './colour.ts'
import { printConstant } from './print.ts'

const MIB = 1 << 20
const { memory, plain, simd } = bothKernels(8 * MIB)
/** Places in the memory, far enough apart for rows of 4096 floats. */
const at = (i: number) => 4096 + i * 32768

interface Row {
  readonly r: number[]
  readonly g: number[]
  readonly b: number[]
}

/** Display-linear tone N′ = min(N, 1): 64 entries a stop from −16 to +8 stops. */
function layOut(options: { noise?: number; white?: [level: number, most: number] } = {}): void {
  const entries = 24 * 64 + 2
  const tone = memory.f32(at(4), entries)
  for (let i = 0; i < entries; i++) tone[i] = Math.min(2 ** (-16 + i / 64), 1)
  const noise = options.noise ?? 0
  const [level, most] = options.white ?? [2, 0]
  const c = memory.f32(at(5), printConstant.length)
  c[printConstant.toneStart] = -16
  c[printConstant.tonePerStop] = 64
  c[printConstant.toneLast] = entries - 1.001
  c[printConstant.floor] = 2 ** -16
  c[printConstant.noiseScale] = 0
  c[printConstant.noiseOffset] = noise
  c[printConstant.quietAbove] = Math.sqrt(50 * noise)
  c[printConstant.whiteLevel] = level
  c[printConstant.whiteLightness] = Math.cbrt(level)
  c[printConstant.whiteMost] = most
  memory.f32(at(3), 4 * 600).set(Array.from({ length: 600 }, () => [1, 0, 1, 1]).flat())
}

function tone(kernels: Kernels, row: Row, step = 8): Row {
  const n = row.r.length
  memory.f32(at(0), n).set(row.r)
  memory.f32(at(1), n).set(row.g)
  memory.f32(at(2), n).set(row.b)
  kernels.printTone(at(0), at(1), at(2), n, at(3), step, at(4), at(5), at(6), at(7), at(8))
  const out = (i: number) => [...memory.f32(at(i), n)]
  return { r: out(6), g: out(7), b: out(8) }
}

function oklab(r: number, g: number, b: number): { l: number; a: number; b: number } {
  // Ottosson 2020, matrices for linear sRGB.
  const l = Math.cbrt(0.4122214708 * r + 0.5363325363 * g + 0.0514459929 * b)
  const m = Math.cbrt(0.2119034982 * r + 0.6806995451 * g + 0.1073969566 * b)
  const s = Math.cbrt(0.0883024619 * r + 0.2817188376 * g + 0.6299787005 * b)
  return {
    l: 0.2104542553 * l + 0.793617785 * m - 0.0040720468 * s,
    a: 1.9779984951 * l - 2.428592205 * m + 0.4505937099 * s,
    b: 0.0259040371 * l + 0.7827717662 * m - 0.808675766 * s,
  }
}

describe.each([
  ['plain', plain],
  ['simd', simd],
] as const)('tone of a row, %s', (_, kernels) => {
  it('gives greys back as they are when the tone is the identity, to 0.01 %', () => {
    layOut()
    const values = Array.from({ length: 200 }, (_, i) => 2 ** (-12 + i * 0.059))
    const out = tone(kernels, { r: values, g: values, b: values })
    const worst = Math.max(...values.map((v, i) => Math.abs(out.g[i]! / v - 1)))
    console.log(`identity tone: worst relative difference ${worst.toExponential(1)}`)
    expect(worst).toBeLessThan(1e-4)
    expect(Math.max(...out.r.map((v, i) => Math.abs(v - out.b[i]!)))).toBeLessThan(1e-7)
  })

  it('turns the gain of a cell into the gain of its pixels, straight between cell centres', () => {
    layOut()
    const cells = memory.f32(at(3), 4 * 12)
    for (let k = 0; k < 12; k++) cells.set([1, k === 0 ? -3 : k - 4, 1, 1], k * 4)
    const out = tone(kernels, { r: Array(64).fill(0.01), g: Array(64).fill(0.01), b: Array(64).fill(0.01) })
    // Cell k of the padded row has its centre at pixel coordinate 8 k − 4; B there is k − 4.
    for (const x of [4, 7, 20, 33, 50]) {
      expect(Math.log2(out.g[x]! / 0.01)).toBeCloseTo((x + 0.5 + 4) / 8 - 4, 3)
    }
  })

  it.each([
    ['orange', [1, 0.45, 0.05]],
    ['blue', [0.05, 0.12, 1]],
    ['red', [1, 0.03, 0.02]],
    ['green', [0.05, 1, 0.3]],
  ] as const)(
    'keeps the Oklab hue of a %s lamp from 0.01 to 64 within 1 degree until it is nearly white',
    (name, lamp) => {
      layOut({ white: [0.7, 0.9] })
      const ramp = Array.from({ length: 256 }, (_, i) => 0.01 * 6400 ** (i / 255))
      const out = tone(kernels, {
        r: ramp.map((v) => v * lamp[0]),
        g: ramp.map((v) => v * lamp[1]),
        b: ramp.map((v) => v * lamp[2]),
      })
      const wanted = oklab(...(lamp as readonly [number, number, number] as [number, number, number]))
      const hue = Math.atan2(wanted.b, wanted.a)
      let worst = 0
      let lastLight = 0
      ramp.forEach((_, i) => {
        const lab = oklab(
          ...([out.r[i]!, out.g[i]!, out.b[i]!].map((v) => Math.min(Math.max(v, 0), 1)) as [number, number, number]),
        )
        expect(lab.l).toBeGreaterThanOrEqual(lastLight - 1e-3)
        lastLight = lab.l
        if (Math.hypot(lab.a, lab.b) < 0.02) return
        const turn = Math.atan2(lab.b, lab.a) - hue
        worst = Math.max(worst, Math.abs(Math.atan2(Math.sin(turn), Math.cos(turn))))
      })
      const degrees = (worst * 180) / Math.PI
      console.log(
        `${name} lamp: worst hue difference ${degrees.toFixed(2)} degrees; lightness at the top ${lastLight.toFixed(3)}`,
      )
      expect(degrees).toBeLessThan(1)
      expect(lastLight).toBeGreaterThan(0.9)
    },
  )

  it('brings colours outside the display inside it at their own Oklab lightness and hue', () => {
    layOut()
    const row = { r: [0.9, -0.1, 0.3, 0.02], g: [-0.05, 0.8, -0.02, -0.01], b: [0.1, 0.1, 0.95, 0.5] }
    const out = tone(kernels, row)
    for (let i = 0; i < 4; i++) {
      const shown = [out.r[i]!, out.g[i]!, out.b[i]!] as const
      expect(Math.min(...shown)).toBeGreaterThanOrEqual(-2.1e-4)
      expect(Math.max(...shown)).toBeLessThanOrEqual(1 + 2.1e-4)
    }
  })

  it('takes the chroma of the neighbourhood where noise rules and the own chroma where it does not', () => {
    layOut({ noise: 1e-4 })
    const dark = tone(kernels, { r: Array(16).fill(0.004), g: Array(16).fill(0), b: Array(16).fill(0) })
    expect(Math.max(...dark.r.map((v, i) => Math.abs(v / dark.g[i]! - 1)))).toBeLessThan(0.1)
    const bright = tone(kernels, { r: Array(16).fill(0.4), g: Array(16).fill(0.2), b: Array(16).fill(0.2) })
    expect(bright.r[3]! / bright.g[3]!).toBeCloseTo(2, 3)
  })
})

describe('the two kernels', () => {
  const channel = fc.oneof(
    fc.double({ min: -0.01, max: 0.05, noNaN: true }),
    fc.double({ min: 0, max: 1, noNaN: true }),
    fc.double({ min: 0, max: 100, noNaN: true }),
  )

  it('agree on the tone of any row within 2e-4 of encoded white', () => {
    let worst = 0
    fc.assert(
      fc.property(
        fc.array(fc.tuple(channel, channel, channel), { minLength: 1, maxLength: 70, size: 'max' }),
        fc.constantFrom(8, 16, 24),
        fc.constantFrom(0, 1e-6, 1e-3),
        (pixels, step, noise) => {
          layOut({ noise, white: [0.7, 0.9] })
          const row = { r: pixels.map((p) => p[0]), g: pixels.map((p) => p[1]), b: pixels.map((p) => p[2]) }
          const a = tone(plain, row, step)
          const b = tone(simd, row, step)
          for (const c of ['r', 'g', 'b'] as const) {
            a[c].forEach((v, i) => {
              worst = Math.max(worst, Math.abs(encodedSrgb(v) - encodedSrgb(b[c][i]!)))
            })
          }
          expect(worst).toBeLessThan(2e-4 * 12.92)
        },
      ),
      { numRuns: 300 },
    )
    console.log(`tone: worst difference ${(worst * 255).toFixed(3)} of an 8-bit code`)
  })

  it('agree on 8-bit codes but for one code at the edge of rounding, and write nothing past the row', () => {
    let differing = 0
    let codes = 0
    fc.assert(
      fc.property(
        fc.array(fc.double({ min: 0, max: 1, noNaN: true }), { minLength: 1, maxLength: 100, size: 'max' }),
        fc.nat(100_000),
        (values, y) => {
          const n = values.length
          for (const i of [6, 7, 8]) memory.f32(at(i), n).set(values.map((v) => v ** (i - 5)))
          memory.u8(at(10), n * 3 + 64).fill(170)
          plain.printCode8(at(6), at(7), at(8), n, y, at(9))
          simd.printCode8(at(6), at(7), at(8), n, y, at(10))
          const a = memory.u8(at(9), n * 3)
          memory.u8(at(10), n * 3).forEach((v, i) => {
            expect(Math.abs(v - a[i]!)).toBeLessThanOrEqual(1)
            if (v !== a[i]) differing++
            codes++
          })
          expect([...memory.u8(at(10) + n * 3, 64)]).toEqual(Array(64).fill(170))
        },
      ),
      { numRuns: 200 },
    )
    console.log(`8-bit codes: ${differing} of ${codes} differ by one`)
    expect(differing / codes).toBeLessThan(0.01)
  })

  it('agree on 16-bit codes to one code, and write nothing past the row', () => {
    let worst = 0
    fc.assert(
      fc.property(
        fc.array(fc.double({ min: -0.1, max: 1.1, noNaN: true }), { minLength: 1, maxLength: 50, size: 'max' }),
        (values) => {
          const n = values.length
          for (const i of [6, 7, 8]) memory.f32(at(i), n).set(values)
          memory.u8(at(10) + n * 6, 64).fill(170)
          plain.printCode16(at(6), at(7), at(8), n, at(9))
          simd.printCode16(at(6), at(7), at(8), n, at(10))
          const a = memory.u16(at(9), n * 3)
          memory.u16(at(10), n * 3).forEach((v, i) => {
            worst = Math.max(worst, Math.abs(v - a[i]!))
          })
          expect([...memory.u8(at(10) + n * 6, 64)]).toEqual(Array(64).fill(170))
        },
      ),
      { numRuns: 200 },
    )
    console.log(`16-bit codes: worst difference ${worst}`)
    expect(worst).toBeLessThanOrEqual(1)
  })

  it('agree on the cells of any picture to 1e-4, at every width and cut-off cell', () => {
    fc.assert(
      fc.property(fc.integer({ min: 1, max: 70 }), fc.integer({ min: 1, max: 8 }), fc.nat(), (width, rows, seed) => {
        const stride = width + 5
        let s = seed
        for (const i of [0, 1, 2]) {
          const plane = memory.f32(at(i), stride * 8)
          for (let k = 0; k < plane.length; k++) {
            s = (Math.imul(s, 1664525) + 1013904223) >>> 0
            plane[k] = s / 4294967296 - 0.1
          }
        }
        plain.printCells(at(0), at(1), at(2), width, rows, stride, 8, at(9))
        simd.printCells(at(0), at(1), at(2), width, rows, stride, 8, at(10))
        const n = Math.ceil(width / 8) * 8
        const a = memory.f32(at(9), n)
        memory.f32(at(10), n).forEach((v, i) => {
          expect(Math.abs(v - a[i]!)).toBeLessThan(1e-4)
        })
      }),
      { numRuns: 200 },
    )
  })
})

describe('codes', () => {
  it('are those that IEC 61966-2-1 gives for published values, 16 bits', () => {
    const linear = [0, 0.001, 0.01, 0.05, 0.18, 0.2140411405, 0.25, 0.5, 0.9, 1]
    const encoded = [0, 0.01292, 0.099852823, 0.247800528, 0.46135613, 0.5, 0.53709873, 0.735356983, 0.954687172, 1]
    for (const i of [6, 7, 8]) memory.f32(at(i), linear.length).set(linear)
    simd.printCode16(at(6), at(7), at(8), linear.length, at(9))
    const codes = memory.u16(at(9), linear.length * 3)
    const worst = Math.max(...encoded.map((e, i) => Math.abs(codes[i * 3]! - e * 65535)))
    console.log(`16-bit codes against the standard: worst ${worst.toFixed(2)} codes`)
    expect(worst).toBeLessThan(1)
  })

  it('with dither keep the mean of any level to 0.02 of a code over 64 × 64 pixels', () => {
    let worst = 0
    for (let k = 0; k < 40; k++) {
      const level = (k + 0.37) / 41
      for (const i of [6, 7, 8]) memory.f32(at(i), 64).fill(level)
      let sum = 0
      for (let y = 0; y < 64; y++) {
        simd.printCode8(at(6), at(7), at(8), 64, y, at(9))
        for (const v of memory.u8(at(9), 64 * 3)) sum += v
      }
      worst = Math.max(worst, Math.abs(sum / (64 * 64 * 3) - 255 * encodedSrgb(level)))
    }
    console.log(`dither: worst error of the mean ${worst.toFixed(4)} codes`)
    expect(worst).toBeLessThan(0.02)
  })

  it('of a slow dark gradient hold no run of equal codes longer than 16 pixels between the steps', () => {
    // 4 codes over 4000 pixels: without dither every step is 1000 pixels of one code.
    const n = 4000
    for (const i of [6, 7, 8]) {
      const row = memory.f32(at(i), n)
      for (let x = 0; x < n; x++) row[x] = (((30 + (4 * x) / n) / 255 + 0.055) / 1.055) ** 2.4
    }
    simd.printCode8(at(6), at(7), at(8), n, 11, at(9))
    const codes = memory.u8(at(9), n * 3)
    let longest = 0
    let run = 0
    for (let x = 1; x < n; x++) {
      const fraction = ((4 * x) / n) % 1
      run = codes[x * 3] === codes[x * 3 - 3] && fraction > 0.2 && fraction < 0.8 ? run + 1 : 0
      longest = Math.max(longest, run)
    }
    console.log(`gradient: longest run ${longest} pixels`)
    expect(longest).toBeLessThanOrEqual(16)
  })

  it('do not depend on where a row is cut', () => {
    const n = 200
    for (const i of [6, 7, 8]) memory.f32(at(i), n).set(Array.from({ length: n }, (_, x) => x / n))
    simd.printCode8(at(6), at(7), at(8), n, 5, at(9))
    plain.printCode8(at(6), at(7), at(8), 37, 5, at(10))
    const whole = [...memory.u8(at(9), 37 * 3)]
    const different = [...memory.u8(at(10), 37 * 3)].filter((v, i) => v !== whole[i]).length
    expect(different).toBeLessThanOrEqual(1)
  })
})
