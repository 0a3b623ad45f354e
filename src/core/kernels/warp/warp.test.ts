import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { bothKernels } from '../../../../test/kernels.ts'
import { WARP_PHASES, WARP_TABLE_BYTES, writeWarpTable } from './warp.ts'

const { memory, plain, simd } = bothKernels(1 << 20)
const TERMS = 2048
const TABLE = 4096
const SOURCE = 65536
const TARGET = SOURCE + 262144
const SECOND = TARGET + 262144
writeWarpTable(memory, TABLE)

type Terms = readonly [number, number, number, number, number, number, number, number, number]

function warp(k: typeof plain, to: number, width: number, height: number, terms: Terms): Float32Array {
  memory.f32(TERMS, 9).set(terms)
  for (let y = 0; y < height; y++) k.warpRow(SOURCE, to + 4 * width * y, width, height, y, TERMS, TABLE)
  return memory.f32(to, width * height).slice()
}

const worst = (a: Float32Array, b: Float32Array) => a.reduce((w, v, i) => Math.max(w, Math.abs(v - b[i]!)), 0)

/** The standard's formula in double precision, then the six-tap sum as its definition has it: no table, no limit. */
function byDefinition(source: Float64Array, width: number, height: number, terms: Terms): Float64Array {
  const [g0, g1, g2, g3, t0, t1, cx, cy, m] = terms
  const sinc = (t: number) => (t === 0 ? 1 : Math.sin(Math.PI * t) / (Math.PI * t))
  /** Lanczos weights of samples −2 … 3, sum 1, and first moment the fraction itself. */
  const weights = (fraction: number) => {
    const raw = [-2, -1, 0, 1, 2, 3].map((k) => sinc(k - fraction) * sinc((k - fraction) / 3))
    const sum = raw.reduce((a, b) => a + b)
    const unit = raw.map((w) => w / sum)
    const beside = fraction - unit.reduce((a, w, i) => a + w * (i - 2), 0)
    return unit.map((w, i) => (i === 2 ? w - beside : i === 3 ? w + beside : w))
  }
  const out = new Float64Array(width * height)
  for (let y = 0; y < height; y++)
    for (let x = 0; x < width; x++) {
      const [dx, dy] = [(x - cx) / m, (y - cy) / m]
      const r2 = Math.min(dx * dx + dy * dy, 1)
      const f = 1 + g0 + g1 * r2 + g2 * r2 ** 2 + g3 * r2 ** 3
      const sx = cx + m * (f * dx + t0 * 2 * dx * dy + t1 * (r2 + 2 * dx * dx))
      const sy = cy + m * (f * dy + t1 * 2 * dx * dy + t0 * (r2 + 2 * dy * dy))
      const [ix, iy] = [Math.floor(sx), Math.floor(sy)]
      const [wx, wy] = [weights(sx - ix), weights(sy - iy)]
      for (let j = 0; j < 6; j++)
        for (let i = 0; i < 6; i++) {
          const row = Math.min(Math.max(iy + j - 2, 0), height - 1)
          out[y * width + x]! += wx[i]! * wy[j]! * source[row * width + Math.min(Math.max(ix + i - 2, 0), width - 1)]!
        }
    }
  return out
}

/** Smooth, and nowhere near black: the limit against rings never acts. */
const scene = (x: number, y: number) => 0.5 + 0.2 * Math.sin(0.31 * x + 0.1 * y) + 0.2 * Math.cos(0.23 * y - 0.15 * x)

const bent: Terms = [0.012, -0.05, 0.01, 0.003, 0.002, -0.001, 40.3, 30.7, 51]

describe('a bent row', () => {
  it('weighs six samples by the three-lobed windowed sinc, and whole pixels by 1', () => {
    const rows = memory.f32(TABLE, WARP_TABLE_BYTES / 4)
    expect([...rows.subarray(0, 8)]).toEqual([0, 0, 1, 0, 0, 0, 0, 0])
    expect([...rows.subarray(8 * WARP_PHASES, 8 * WARP_PHASES + 8)]).toEqual([0, 0, 0, 1, 0, 0, 0, 0])
    // By the closed form 3 sin(πt) sin(πt/3)/(πt)²; half way the two sides are alike and the ramp needs nothing.
    const half = rows.subarray(8 * (WARP_PHASES / 2), 8 * (WARP_PHASES / 2) + 6)
    const closed = [2.5, 1.5, 0.5].map(
      (t) => (3 * Math.sin(Math.PI * t) * Math.sin((Math.PI * t) / 3)) / (Math.PI * t) ** 2,
    )
    const sum = 2 * closed.reduce((a, b) => a + b)
    for (let i = 0; i < 3; i++) {
      expect(half[i]).toBeCloseTo(closed[i]! / sum, 6)
      expect(half[5 - i]).toBeCloseTo(closed[i]! / sum, 6)
    }
  })

  it('agrees with the definition in double precision to 0.0005 of the signal', () => {
    const [width, height] = [81, 61]
    const source = Float64Array.from({ length: width * height }, (_, i) => scene(i % width, Math.floor(i / width)))
    memory.f32(SOURCE, width * height).set(source)
    const expected = Float32Array.from(byDefinition(source, width, height, bent))
    for (const [name, k] of [
      ['plain', plain],
      ['simd', simd],
    ] as const) {
      const off = worst(warp(k, TARGET, width, height, bent), expected)
      console.log(`${name} warp against the definition: worst ${off.toExponential(1)}`)
      expect(off).toBeLessThan(5e-4)
    }
  })

  it('reads a ramp where the formula says, to 0.0006 px: half a step of the table', () => {
    const [width, height] = [91, 71]
    memory.f32(SOURCE, width * height).set(Float32Array.from({ length: width * height }, (_, i) => i % width))
    for (const k of [plain, simd]) {
      const found = warp(k, TARGET, width, height, [0.01, -0.02, 0, 0, 0, 0, 45, 35, 57])
      let off = 0
      for (let y = 5; y < height - 5; y++)
        for (let x = 5; x < width - 5; x++) {
          const r2 = ((x - 45) / 57) ** 2 + ((y - 35) / 57) ** 2
          off = Math.max(off, Math.abs(found[y * width + x]! - (x + (0.01 - 0.02 * r2) * (x - 45))))
        }
      expect(off).toBeLessThan(6e-4)
    }
  })

  it('is an exact copy when nothing bends, and an exact shift by whole pixels', () => {
    const [width, height] = [37, 23]
    const source = Float32Array.from({ length: width * height }, (_, i) => Math.sin(i * i) * 50)
    memory.f32(SOURCE, width * height).set(source)
    for (const k of [plain, simd]) {
      expect(worst(warp(k, TARGET, width, height, [0, 0, 0, 0, 0, 0, 18, 11, 22]), source)).toBe(0)
      // kr0 − 1 = 1 about centre 0: the source stands at twice the position, whole pixels all.
      const twice = warp(k, TARGET, width, height, [1, 0, 0, 0, 0, 0, 0, 0, 64])
      for (let y = 0; 2 * y < height; y++)
        for (let x = 0; 2 * x < width; x++) expect(twice[y * width + x]).toBe(source[2 * y * width + 2 * x])
    }
  })

  it('digs no ring deeper than an eighth around a light ten thousand times brighter than its wall', () => {
    const [width, height] = [61, 61]
    const source = Float32Array.from({ length: width * height }, (_, i) => {
      const [x, y] = [i % width, Math.floor(i / width)]
      return 0.01 + 100 * Math.exp(-((x - 30) ** 2 + (y - 30) ** 2) / 2)
    })
    memory.f32(SOURCE, width * height).set(source)
    for (const k of [plain, simd])
      expect(Math.min(...warp(k, TARGET, width, height, bent))).toBeGreaterThan(0.01 * (7 / 8) - 1e-6)
  })

  it('is bit for bit the same from the fast kernel, at every border and for absurd terms', () => {
    const term = fc.oneof(
      fc.double({ min: -0.1, max: 0.1, noNaN: true }),
      fc.double({ min: -1e9, max: 1e9, noNaN: true }),
    )
    fc.assert(
      fc.property(
        fc.integer({ min: 1, max: 41 }),
        fc.integer({ min: 1, max: 24 }),
        fc.array(term, { minLength: 6, maxLength: 6 }),
        fc.double({ min: 0, max: 1, noNaN: true }),
        fc.integer(),
        (width, height, k, centre, seed) => {
          const terms = [...k, width * centre, height * (1 - centre), Math.hypot(width, height)] as unknown as Terms
          const source = memory.f32(SOURCE, width * height + 16)
          for (let i = 0; i < source.length; i++) source[i] = Math.sin(seed + i * i) * 3
          const a = warp(plain, TARGET, width, height, terms)
          const b = warp(simd, SECOND, width, height, terms)
          expect(worst(a, b)).toBe(0)
          expect(a.every(Number.isFinite)).toBe(true)
        },
      ),
      { numRuns: 300 },
    )
  })
})
