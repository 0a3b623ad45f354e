import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { testCrew } from '../../../test/kernels.ts'
import { type MeasureView, measureSmears, measureTasks, type SmearAndFocus } from './index.ts'
import { type MadeNight, madeNight, type Path, SENSOR, sensorAt, straight, truthOf } from './smear.fixture.ts'

const crew = testCrew(measureTasks, 48 << 20)
const plainCrew = testCrew(measureTasks, 48 << 20, 'plain')

async function measure(samples: Uint16Array, view: Omit<MeasureView, 'at'>, by = crew): Promise<SmearAndFocus> {
  const mark = by.arena.mark()
  const at = by.arena.alloc(samples.length * 2)
  by.arena.u16(at, samples.length).set(samples)
  const [result] = await measureSmears(by, [{ ...view, at }])
  by.arena.release(mark)
  return result!
}

const viewOf = (n: MadeNight): Omit<MeasureView, 'at'> => ({
  width: n.width,
  height: n.height,
  cfa: n.cfa === undefined ? [0, 1, 1, 2] : n.cfa,
  black: [SENSOR.black, SENSOR.black, SENSOR.black, SENSOR.black],
  white: SENSOR.white,
})
const measureNight = (n: MadeNight, by = crew) => measure(madeNight(n), viewOf(n), by)

/** 1200 × 900 pixels of a night, a thirteenth of 12 MP, with the lamps of such a part. */
const night = (more: Partial<MadeNight> & { path: Path; seed: number }): MadeNight => ({
  ...{ width: 1200, height: 900, lensSigma: 0.8, lamps: 120, lines: 6 },
  ...more,
})

const between = (a: number, b: number) => Math.min(Math.abs(a - b) % 180, 180 - (Math.abs(a - b) % 180))
const allowed = (pixels: number) => Math.max(0.15, 0.05 * pixels)

/** Spearman 1904: correlation of ranks. */
function rankCorrelation(a: readonly number[], b: readonly number[]): number {
  const ranks = (v: readonly number[]) => v.map((x) => v.filter((y) => y < x).length)
  const [p, q] = [ranks(a), ranks(b)]
  const n = a.length
  return 1 - (6 * p.reduce((s, x, i) => s + (x - q[i]!) ** 2, 0)) / (n * (n * n - 1))
}

describe('smear from lamps', () => {
  it('is within 0.15 px or 5 % of the made movement, 0.3 to 10 px, lenses of 0.5 to 1.2 px; direction within 5°', async () => {
    let [worst, worstDegrees] = [0, 0]
    const truths: number[] = []
    const founds: number[] = []
    for (let i = 0; i <= 20; i++) {
      const length = 0.3 * (10 / 0.3) ** (i / 20)
      const degrees = (i * 37) % 180
      const lensSigma = [0.5, 0.8, 1.2][i % 3]!
      const { smear } = await measureNight(
        night({ seed: i + 1, path: straight(length, degrees), lensSigma, lamps: 240 }),
      )
      expect(smear?.from).toBe('lamps')
      truths.push(length)
      founds.push(smear!.pixels)
      worst = Math.max(worst, Math.abs(smear!.pixels - length) / allowed(length))
      if (smear!.directionDegrees === null) expect(length).toBeLessThan(1)
      else worstDegrees = Math.max(worstDegrees, between(smear!.directionDegrees, degrees))
    }
    const ranking = rankCorrelation(truths, founds)
    console.log(
      `smear: worst ${worst.toFixed(2)} of the tolerance, direction ${worstDegrees.toFixed(1)}°, ranking ${ranking.toFixed(4)}`,
    )
    expect(worst).toBeLessThan(1)
    expect(worstDegrees).toBeLessThan(5)
    expect(ranking).toBeGreaterThan(0.98)
  })

  /** Worst of some lengths as a share of the tolerance, and what was not known. Seeds and angles that nothing was tuned on. */
  async function worstOf(lengths: readonly number[], more: Partial<MadeNight>) {
    let [worst, degrees, unknown] = [0, 0, 0]
    for (const [i, length] of lengths.entries()) {
      const toward = (29 + 53 * i) % 180
      const { smear } = await measureNight(
        night({ lamps: 240, ...more, seed: 7001 + i, path: straight(length, toward) }),
      )
      if (!smear) unknown++
      else worst = Math.max(worst, Math.abs(smear.pixels - length) / allowed(length))
      if (smear?.directionDegrees != null) degrees = Math.max(degrees, between(smear.directionDegrees, toward))
    }
    return { worst, degrees, unknown }
  }

  it.each([
    ['ISO 400', [0.5, 2, 8], { sensor: sensorAt(400), brightness: 1 / 4 }],
    ['ISO 1600', [2, 5, 10], { sensor: sensorAt(1600), brightness: 1 / 16 }],
    ['48 MP, ISO 100', [2, 4, 9], { sensor: sensorAt(100, 48), brightness: 1 / 4, lensSigma: 1.5 }],
    ['48 MP, ISO 400', [4, 9], { sensor: sensorAt(400, 48), brightness: 1 / 16, lensSigma: 1.5 }],
    ['lamps as discs of radius 0 to 1.5 px', [0.5, 1.5, 6], { lampRadius: [0, 1.5] as const }],
    ['most lamps clipped', [0.8, 3, 9], { brightness: 10 }],
    ['crowded lamps', [0.4, 1.5, 7], { lamps: 1500 }],
  ])('%s: within 0.15 px or 5 %, direction within 5°', async (name, lengths, more) => {
    const { worst, degrees, unknown } = await worstOf(lengths, more)
    console.log(`${name}: worst ${worst.toFixed(2)} of the tolerance, direction ${degrees.toFixed(1)}°`)
    expect(unknown).toBe(0)
    expect(worst).toBeLessThan(1)
    expect(degrees).toBeLessThan(5)
  })

  it('short movements in much noise are known less: within 0.35 px, or not known', async () => {
    const { worst, unknown } = await worstOf([0.3, 0.6, 1], { sensor: sensorAt(1600), brightness: 1 / 16 })
    console.log(`ISO 1600, under 1 px: worst ${(0.15 * worst).toFixed(2)} px, ${unknown} of 3 not known`)
    expect(0.15 * worst).toBeLessThan(0.35)
  })

  it('of bent and trembling paths is that of their second moments within 0.15 px or 5 %', async () => {
    let worst = 0
    for (const length of [1.5, 4, 8]) {
      const arc = Array.from({ length: 60 }, (_, i) => {
        const t = i / 59 - 0.5
        return [length * t, length * 1.2 * t * t] as const
      })
      const trembling = Array.from({ length: 80 }, (_, i) => {
        const t = i / 79 - 0.5
        return [length * t + 0.4 * Math.sin(9 * i), 0.4 * Math.cos(7 * i)] as const
      })
      for (const path of [arc, trembling]) {
        const truth = truthOf(path)
        const { smear } = await measureNight(night({ seed: 50 + length, path }))
        worst = Math.max(worst, Math.abs(smear!.pixels - truth.pixels) / allowed(truth.pixels))
        expect(between(smear!.directionDegrees!, truth.degrees)).toBeLessThan(5)
      }
    }
    console.log(`smear of bent paths: worst ${worst.toFixed(2)} of the tolerance`)
    expect(worst).toBeLessThan(1)
  })

  it('grows linearly with the shutter: slope 1 within 2 %, zero within 0.1 px', async () => {
    const seconds = [0.5, 1, 2, 4]
    const speed = 1.6
    const lengths: number[] = []
    // Light grows with the shutter too: longer frames have brighter, more often saturated lamps.
    for (const t of seconds)
      lengths.push((await measureNight(night({ seed: 9, path: straight(speed * t, 64), brightness: t }))).smear!.pixels)
    const slope = (lengths[3]! - lengths[0]!) / (speed * 3.5)
    const zero = lengths[0]! - slope * speed * 0.5
    console.log(`smear against shutter: ${lengths.map((l) => l.toFixed(2)).join(', ')} px at 0.5 to 4 s`)
    expect(Math.abs(slope - 1)).toBeLessThan(0.02)
    expect(Math.abs(zero)).toBeLessThan(0.1)
  })

  it('turns with the movement and leaves the rest: mirrored and transposed pictures give mirrored directions', async () => {
    const n = night({ seed: 77, path: straight(2.5, 25), width: 1000, height: 1000, cfa: null })
    const samples = madeNight(n)
    const { width, height } = n
    const mirrored = samples.map((_, i) => samples[i - (i % width) + (width - 1 - (i % width))]!)
    const transposed = samples.map((_, i) => samples[(i % height) * width + Math.floor(i / height)]!)
    const found = (await measure(samples, viewOf(n))).smear!
    const other = (await measure(mirrored, viewOf(n))).smear!
    const third = (await measure(transposed, viewOf(n))).smear!
    expect(Math.abs(other.pixels - found.pixels)).toBeLessThan(0.05)
    expect(between(other.directionDegrees!, 180 - found.directionDegrees!)).toBeLessThan(1)
    expect(Math.abs(third.pixels - found.pixels)).toBeLessThan(0.05)
    expect(between(third.directionDegrees!, 90 - found.directionDegrees!)).toBeLessThan(1)
  })

  it('does not depend on where the scene stands, how it is turned, or how bright it is', async () => {
    await fc.assert(
      fc.asyncProperty(
        fc.integer({ min: 1, max: 1000 }),
        fc.double({ min: 0, max: 180, noNaN: true }),
        fc.double({ min: 0.5, max: 3, noNaN: true }),
        fc.constantFrom([0, 1, 1, 2] as const, [1, 0, 2, 1] as const, [2, 1, 1, 0] as const, [1, 2, 0, 1] as const),
        async (seed, degrees, brightness, cfa) => {
          const path = straight(2, degrees)
          const { smear } = await measureNight(night({ seed, path, brightness, turnDegrees: degrees, cfa }))
          expect(Math.abs(smear!.pixels - 2)).toBeLessThan(0.15)
          expect(between(smear!.directionDegrees!, degrees)).toBeLessThan(5)
        },
      ),
      { numRuns: 6 },
    )
  })

  it('orders frames of one scene by their movement', async () => {
    const lengths = [0.4, 0.8, 1.3, 2.1, 3.4, 5.5]
    const found: number[] = []
    for (const [i, length] of lengths.entries())
      found.push((await measureNight(night({ seed: 300, path: straight(length, 20 * i) }))).smear!.pixels)
    expect(found).toEqual([...found].sort((a, b) => a - b))
  })

  it('states its confidence honestly: few lamps say less', async () => {
    const many = await measureNight(night({ seed: 4, path: straight(0.5, 10), lensSigma: 1 }))
    const few = await measureNight(night({ seed: 4, path: straight(0.5, 10), lensSigma: 1, lamps: 14, lines: 0 }))
    expect(many.smear!.confidence).toBeGreaterThan(0.6)
    expect(few.smear?.confidence ?? 0).toBeLessThan(many.smear!.confidence)
  })

  it('is the same from plain kernels', async () => {
    const n = night({ seed: 5, path: straight(3, 100), width: 640, height: 480, lamps: 40 })
    expect(await measureNight(n, plainCrew)).toEqual(await measureNight(n))
  })
})

describe('pictures that say nothing', () => {
  const flat = (value: number, width = 320, height = 240) => new Uint16Array(width * height).fill(value)
  const view = (width = 320, height = 240): Omit<MeasureView, 'at'> => ({
    ...{ width, height, cfa: [0, 1, 1, 2], black: [256, 256, 256, 256], white: 4095 },
  })

  it.each([
    ['black', flat(256), view()],
    ['flat', flat(1500), view()],
    ['saturated', flat(4095), view()],
    ['zeros under black', flat(0), view()],
    [
      'noise alone',
      madeNight(night({ seed: 1, path: straight(1, 0), lamps: 0, lines: 0, width: 320, height: 240 })),
      view(),
    ],
    ['hot pixels alone', flat(300).map((v, i) => (i % 997 === 0 ? 3000 : v)), view()],
    [
      'a checkerboard',
      flat(300).map((_, i) => (((Math.floor(i / 320) >> 3) + ((i % 320) >> 3)) & 1 ? 400 : 3000)),
      view(),
    ],
    ['stripes', flat(300).map((_, i) => ((i >> 2) & 1 ? 400 : 3000)), view()],
  ])('%s: no smear, and the reason', async (_name, samples, v) => {
    const { smear, why } = await measure(samples, v)
    expect(smear).toBeNull()
    expect(['too-few-lamps', 'blobs-too-large', 'longer-than-window', 'unsure']).toContain(why)
  })

  it.each([
    [1, 1],
    [3, 2000],
    [63, 63],
    [64, 64],
    [65, 67],
  ])('%d × %d pixels do not crash', async (width, height) => {
    const { smear, why } = await measure(flat(900, width, height), view(width, height))
    expect(smear).toBeNull()
    expect(why).toBe(Math.min(width, height) < 64 ? 'too-small' : 'too-few-lamps')
  })

  it('random samples of any levels do not crash', async () => {
    await fc.assert(
      fc.asyncProperty(
        fc.integer(),
        fc.integer({ min: 0, max: 4095 }),
        fc.integer({ min: 1, max: 65535 }),
        async (seed, black, white) => {
          let s = seed | 1
          const samples = flat(0).map(() => {
            s = Math.imul(s, 1664525) + 1013904223
            return s >>> 16
          })
          const { smear } = await measure(samples, { ...view(), black: [black, black, black, black], white })
          if (smear) expect(Number.isFinite(smear.pixels)).toBe(true)
        },
      ),
      { numRuns: 20 },
    )
  })
})
