import { describe, expect, it } from 'vitest'
import { apply3, seededRandom } from '#core/base'
import { floatFromHalf } from '#core/kernels'
import { testCrew } from '../../../test/kernels.ts'
import { lantern, lanternColour, lanternMatrices, noiseOf } from './camera.ts'
import { countWithRead } from './expose.ts'
import {
  type BracketPlan,
  exposeFrame,
  type Motion,
  renderMaster,
  type SceneRequest,
  simulateBracket,
  simulateTasks,
  still,
} from './index.ts'
import { patternScene, wavesOf } from './patterns.ts'

const MB = 1024 * 1024

function moments(values: ArrayLike<number>) {
  const n = values.length
  let mean = 0
  for (let i = 0; i < n; i++) mean += values[i]! / n
  let second = 0
  let third = 0
  for (let i = 0; i < n; i++) {
    second += (values[i]! - mean) ** 2 / n
    third += (values[i]! - mean) ** 3 / n
  }
  return { mean, variance: second, skewness: third / second ** 1.5 }
}

describe('photon counts', () => {
  // Poisson with Gaussian read noise: mean μ, variance μ + r², third central moment μ (Poisson's cumulants are all μ).
  it.each([0.05, 1, 7, 23.9, 24.1, 60, 900])(
    'mean %d electrons: mean, variance and skewness are those of a Poisson count',
    (mean) => {
      const read = 1.8
      const random = seededRandom(17)
      const n = 400_000
      const found = moments(Float64Array.from({ length: n }, () => countWithRead(random, mean, read)))
      const variance = mean + read * read
      const skewness = mean / variance ** 1.5
      // Four standard errors; the first Cornish–Fisher term leaves 2 % of variance at the smallest mean it serves.
      expect(Math.abs(found.mean - mean)).toBeLessThan(4 * Math.sqrt(variance / n))
      expect(Math.abs(found.variance / variance - 1)).toBeLessThan(
        4 * Math.sqrt((2 + 1 / mean) / n) + (mean > 24 ? 0.004 : 0),
      )
      expect(Math.abs(found.skewness - skewness)).toBeLessThan(4 * Math.sqrt(6 / n) * (1 + 3 * skewness) + 0.01)
    },
  )
})

describe('the sensor', () => {
  // checks: K 0.6398333 DN/e⁻, σ_DN of the reference sensor (6000 e⁻, 1.8 e⁻, black 256, white 4095) at 0 to 3000 e⁻.
  const table = [
    [0, 1.1517],
    [1, 1.31749747],
    [10, 2.32814944],
    [100, 6.50116008],
    [1000, 20.266058],
    [3000, 35.0640342],
  ] as const

  it('photon transfer: flat patches have the published spread in stored values', async () => {
    const crew = testCrew(simulateTasks, 16 * MB)
    const lines: string[] = []
    for (const [electrons, sigma] of table) {
      const level = electrons / 6000
      const mark = crew.arena.mark()
      const master = await renderMaster(
        crew,
        { kind: 'bands', bands: 1, low: level, high: Math.max(level, 1e-9) },
        { width: 256, height: 256, margin: 8, blurPixels: 1 },
      )
      const take = async (seed: number) =>
        crew.arena.u16(await exposeFrame(crew, master, lantern.sensor, { ratio: 1, motion: still, seed }), 65536)
      const [a, b] = [await take(1), await take(2)]
      // Green sites only: neutral 1. The half variance of the difference cancels what both frames share.
      const greens = Array.from(a.keys()).filter((i) => ((i >> 8) + i) % 2 === 1)
      const mean = moments(greens.map((i) => a[i]!)).mean - 256
      const variance = moments(greens.map((i) => a[i]! - b[i]!)).variance / 2
      const expected = sigma * sigma + 1 / 12
      lines.push(`${electrons} e⁻: mean ${mean.toFixed(3)} DN, spread ${Math.sqrt(variance).toFixed(3)} DN`)
      expect(Math.abs(mean - electrons * 0.6398333)).toBeLessThan(4 * Math.sqrt(expected / greens.length))
      // The variance of 32768 samples is known to 1.1 % (one standard error, for two frames 0.8 %).
      expect(Math.abs(variance / expected - 1)).toBeLessThan(0.035)
      crew.arena.release(mark)
    }
    console.log(lines.join('\n'))
  })

  it('the stated noise model is exact: scale 1/6000, offset 9e-8', () => {
    expect(noiseOf(lantern.sensor).scale).toBeCloseTo(1.6666667e-4, 11)
    expect(noiseOf(lantern.sensor).offset).toBeCloseTo(9e-8, 15)
  })

  it('white light at saturation reads the neutral, and the chain sends it to (1, 1, 1)', () => {
    const { toLinearSrgb, fromLinearSrgb } = lanternMatrices()
    apply3(fromLinearSrgb, [1, 1, 1]).forEach((v, i) => {
      expect(v).toBeCloseTo(lanternColour.asShotNeutral[i]!, 6)
    })
    apply3(toLinearSrgb, lanternColour.asShotNeutral).forEach((v) => {
      expect(v).toBeCloseTo(1, 6)
    })
    // No colour of sRGB may ask for negative light.
    expect(Math.min(...fromLinearSrgb)).toBeGreaterThan(0)
  })

  it('same seed, same frame; another seed, other noise', async () => {
    const plan: BracketPlan = {
      scene: { kind: 'waves', seed: 3 },
      width: 64,
      height: 48,
      seed: 5,
      frames: [{ statedSeconds: 0.25, ratio: 1, motion: still, camera: '2027-02-09T17:31:02', subSecond: 0 }],
    }
    const crew = testCrew(simulateTasks, 16 * MB)
    const one = await simulateBracket(crew, plan)
    const again = await simulateBracket(crew, plan)
    const other = await simulateBracket(crew, { ...plan, seed: 6 })
    expect(again.frames[0]!.dng).toEqual(one.frames[0]!.dng)
    expect(again.radiance).toEqual(one.radiance)
    expect(other.frames[0]!.mosaic).not.toEqual(one.frames[0]!.mosaic)
  })

  it('the truth is the scene: linear sRGB, 1.0 at the reference frame’s saturation', async () => {
    const scene = { kind: 'waves', seed: 9 } as const
    const crew = testCrew(simulateTasks, 16 * MB)
    const frame = { statedSeconds: 0.25, ratio: 1, motion: still, camera: '2027-02-09T17:31:02', subSecond: 0 }
    const { radiance } = await simulateBracket(crew, {
      scene,
      width: 64,
      height: 48,
      blurPixels: 0,
      seed: 5,
      frames: [frame],
    })
    const row = new Float32Array(64 * 3)
    let worst = 0
    for (let y = 0; y < 48; y++) {
      patternScene(scene, 64).row(y, 0, 64, row)
      for (let x = 0; x < 64; x++)
        for (let c = 0; c < 3; c++) {
          const found = floatFromHalf(radiance[(c * 48 + y) * 64 + x]!)
          worst = Math.max(worst, Math.abs(found / row[x * 3 + c]! - 1))
        }
    }
    // A half has 11 bits: 2⁻¹¹ = 0.049 %.
    console.log(`worst relative difference ${(worst * 100).toFixed(4)} %`)
    expect(worst).toBeLessThan(0.0006)
  })
})

describe('motion', () => {
  const width = 192
  const height = 144
  const request = { kind: 'waves', seed: 11 } satisfies SceneRequest
  // A 16-bit sensor without noise, so that values show the optics alone.
  const sensor = { ...lantern.sensor, bitsPerSample: 16, black: [0, 0, 0, 0] as const, white: 65535 }

  const waves = wavesOf(request)
  const toCamera = lanternMatrices().fromLinearSrgb
  // A wave's size in each camera plane.
  const sizes = waves.map((w) => apply3(toCamera, w.size))
  const even = apply3(toCamera, [0.2, 0.2, 0.2])

  /** The formula itself at a position through one filter: value and slopes in x and y. */
  function analytic(x: number, y: number, c: number): readonly [number, number, number] {
    let value = even[c]!
    let dx = 0
    let dy = 0
    waves.forEach((w, i) => {
      const angle = 2 * Math.PI * (w.fx * x + w.fy * y) + w.phase
      const size = sizes[i]![c]!
      value += size * Math.sin(angle)
      dx += size * 2 * Math.PI * w.fx * Math.cos(angle)
      dy += size * 2 * Math.PI * w.fy * Math.cos(angle)
    })
    return [value, dx, dy]
  }

  it.each<Motion>([
    { x: 0, y: 0, rotationDegrees: 0 },
    { x: 2.37, y: -1.81, rotationDegrees: 0 },
    { x: -0.5, y: 0.5, rotationDegrees: 0 },
    { x: 3.2, y: 1.1, rotationDegrees: 0.6 },
    { x: -4.7, y: 2.9, rotationDegrees: -1.3 },
  ])('content stands at x $x px, y $y px, turned $rotationDegrees° clockwise, to 0.005 px', async (motion) => {
    const crew = testCrew(simulateTasks, 16 * MB)
    const master = await renderMaster(crew, request, { width, height, margin: 24, blurPixels: 0 })
    const at = await exposeFrame(crew, master, sensor, { ratio: 1, motion, seed: null })
    const mosaic = crew.arena.u16(at, width * height)
    const cx = (width - 1) / 2
    const cy = (height - 1) / 2
    const a = (motion.rotationDegrees * Math.PI) / 180
    // Least squares for one displacement of all pixels: what the resampling shifts beyond the truth.
    let sxx = 0
    let sxy = 0
    let syy = 0
    let bx = 0
    let by = 0
    let worst = 0
    for (let y = 0; y < height; y++) {
      for (let x = 0; x < width; x++) {
        const u = x - cx - motion.x
        const v = y - cy - motion.y
        // Turning back by the angle: the inverse of [cos −sin; sin cos] with y down.
        const c = [0, 1, 1, 2][((y & 1) << 1) | (x & 1)]!
        const fromX = cx + Math.cos(a) * u + Math.sin(a) * v
        const fromY = cy - Math.sin(a) * u + Math.cos(a) * v
        const [value, gx, gy] = analytic(fromX, fromY, c)
        const difference = mosaic[y * width + x]! / 65535 - value
        worst = Math.max(worst, Math.abs(difference))
        sxx += gx * gx
        sxy += gx * gy
        syy += gy * gy
        bx += gx * difference
        by += gy * difference
      }
    }
    const det = sxx * syy - sxy * sxy
    const shift = Math.hypot((syy * bx - sxy * by) / det, (sxx * by - sxy * bx) / det)
    console.log(
      `displacement beyond truth ${shift.toFixed(5)} px, worst value error ${worst.toExponential(2)} of saturation`,
    )
    expect(shift).toBeLessThan(0.005)
    expect(worst).toBeLessThan(0.0005)
  })
})
