import { readFileSync } from 'node:fs'
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { seededRandom } from '#core/base'
import { type BracketWish, designBracket } from './bracket.ts'
import type { ExposureCamera } from './camera.ts'
import { trueStep } from './candidates.ts'
import { shutterSeries } from './series.ts'
import { frameSnr, mergedSnr } from './snr.ts'

const { mergeWeights, noise } = JSON.parse(
  readFileSync(new URL('../../../truth/exposure/tables.json', import.meta.url), 'utf8'),
)

const small: ExposureCamera = {
  fNumbers: [1.7],
  isos: [100, 200, 400, 800, 1600],
  shortestSeconds: 1 / 8000,
  longestSeconds: 8,
  patterns: [
    { frames: 3, stepStops: 2 / 3 },
    { frames: 5, stepStops: 2 / 3 },
    { frames: 7, stepStops: 2 / 3 },
    { frames: 5, stepStops: 1 },
  ],
  writeSeconds: 0.5,
  fullWellElectrons: 6000,
  readElectrons: 1.8,
}

const dusk: BracketWish = {
  camera: small,
  darkest: 0.02,
  brightest: 64,
  subject: 2,
  hoverLimitSeconds: 0.7,
  timeLimitSeconds: 30,
  mainsHertz: null,
}

describe('predicted signal over noise', () => {
  it('is the sensor’s: rows of electrons, and a merge of three frames', () => {
    // Electrons from the light that gives them: the well fills at 78/100 lx·s.
    for (const row of noise.rows.filter((r: { electrons: number }) => r.electrons > 0 && r.electrons < 6000)) {
      const luminance = ((row.electrons / 6000) * 0.78 * 1.7 ** 2) / 0.65
      const exposure = { fNumber: 1.7, seconds: 1, iso: 100 }
      expect(frameSnr(small, exposure, luminance)).toBeCloseTo(row.SNR, 6)
    }
    // Inverse variance: the squares of signal over noise add. Weights are t²/(Φt + r²); Φ electrons a second, r = 2.
    for (const row of mergeWeights) {
      const camera = {
        ...small,
        isos: [100],
        readElectrons: row['read_noise'],
        fullWellElectrons: 5500,
        longestSeconds: 8,
      }
      const luminance = ((row.phi / 5500) * 0.78 * 1.7 ** 2) / 0.65
      const exposures = row.t.map((seconds: number) => ({ fNumber: 1.7, seconds, iso: 100 }))
      const weights = row.weights.reduce((sum: number, w: number) => sum + w, 0)
      expect(mergedSnr(camera, exposures, luminance) / (row.phi * Math.sqrt(weights))).toBeCloseTo(1, 9)
    }
  })

  it('never falls with more light below clipping', () => {
    const exposures = [1 / 8, 1 / 2, 2].map((seconds) => ({ fNumber: 1.7, seconds, iso: 100 }))
    fc.assert(
      fc.property(
        fc.double({ min: 1e-4, max: 1.4, noNaN: true }),
        fc.double({ min: 1, max: 1.2, noNaN: true }),
        (l, k) => {
          expect(mergedSnr(small, exposures, l * k)).toBeGreaterThanOrEqual(mergedSnr(small, exposures, l) - 1e-12)
        },
      ),
    )
  })
})

/** Worst-case noise of a bracket, written again from the definition: [levels lost, worst signal over noise]. */
function judge(camera: ExposureCamera, times: readonly number[], fNumber: number, iso: number, wish: BracketWish) {
  const stops = Math.log2(wish.brightest / wish.darkest)
  const count = Math.ceil(2 * stops - 1e-9)
  let lost = 0
  let worst = Number.POSITIVE_INFINITY
  for (let i = 0; i <= count; i++) {
    const luminance = wish.darkest * 2 ** (count === 0 ? 0 : (stops * i) / count)
    let information = 0
    for (const t of times) {
      const share = (0.65 * luminance * t * iso) / (78 * fNumber ** 2)
      if (share >= 1) continue
      const electrons = (share * camera.fullWellElectrons * Math.min(...camera.isos)) / iso
      information += electrons ** 2 / (electrons + camera.readElectrons ** 2)
    }
    if (information === 0) lost++
    else worst = Math.min(worst, Math.sqrt(information))
  }
  return { lost, worst: lost > count ? 0 : worst }
}

/** Every bracket that the camera may take, by plain loops over dial steps. */
function* allowed(camera: ExposureCamera, wish: BracketWish) {
  const limit = Math.min(wish.hoverLimitSeconds, camera.longestSeconds)
  for (const fNumber of camera.fNumbers)
    for (const iso of camera.isos)
      for (const { frames, stepStops } of camera.patterns)
        for (let k = -60; k <= 30; k++) {
          const times = Array.from({ length: frames }, (_, i) => 2 ** (k / 3 + stepStops * i))
          // The dial's own figure must keep the limit too: 1/32 s is called 1/30.
          const marked = shutterSeries.filter((s) => times.some((t) => Math.abs(Math.log2(t / s.exactSeconds)) < 0.01))
          if (marked.some((s) => s.nominalSeconds > limit * (1 + 1e-9))) continue
          // A dial's step stands for a time up to a twelfth of a stop from its name.
          if (times[0]! < camera.shortestSeconds * 2 ** (-1 / 12) || times.at(-1)! > limit * (1 + 1e-9)) continue
          const total = times.reduce((a, b) => a + b) + camera.writeSeconds * (frames - 1)
          if (total <= wish.timeLimitSeconds) yield { times, fNumber, iso, total }
        }
}

const random = seededRandom(31)
const between = (low: number, high: number) => low + (high - low) * random.uniform()
const pick = <T>(list: readonly T[]) => list[Math.floor(random.uniform() * list.length)]!

function randomWish(): BracketWish {
  const patterns = Array.from({ length: 1 + Math.floor(random.uniform() * 4) }, () => ({
    frames: 2 + Math.floor(random.uniform() * 8),
    stepStops: pick([1 / 3, 2 / 3, 1, 4 / 3, 2]),
  }))
  const camera: ExposureCamera = {
    fNumbers: pick([[1.7], [2.8], [2.8, 4, 5.6, 8]]),
    isos: pick([[100], [100, 400], [50, 100, 200, 400, 800, 1600]]),
    shortestSeconds: 1 / pick([500, 2000, 8000]),
    longestSeconds: pick([1, 2, 8, 30]),
    patterns,
    writeSeconds: between(0, 1.5),
    fullWellElectrons: between(2000, 40_000),
    readElectrons: between(1, 6),
  }
  const darkest = 10 ** between(-3, 0)
  const brightest = darkest * 2 ** between(2, 18)
  return {
    camera,
    darkest,
    brightest,
    subject: Math.sqrt(darkest * brightest),
    hoverLimitSeconds: 10 ** between(-1.5, 0.7),
    timeLimitSeconds: between(3, 40),
    mainsHertz: null,
  }
}

describe('the design of a bracket', () => {
  it('is beaten by no other allowed pattern, on 200 random scenes and cameras', () => {
    let [compared, pairs, least] = [0, 0, Number.POSITIVE_INFINITY]
    for (let n = 0; n < 200; n++) {
      const wish = randomWish()
      const design = designBracket(wish)
      if (design.brackets === 2) pairs++
      const times = design.exposures.map((e) => e.seconds)
      const own = judge(wish.camera, times, design.middle.fNumber, design.middle.iso, wish)
      if (design.pattern.frames > 1) expect(own.worst / design.worstSnr).toBeCloseTo(1, 6)
      for (const other of allowed(wish.camera, wish)) {
        const theirs = judge(wish.camera, other.times, other.fNumber, other.iso, wish)
        compared++
        expect(own.lost, JSON.stringify(wish)).toBeLessThanOrEqual(theirs.lost)
        if (theirs.lost === own.lost) {
          least = Math.min(least, own.worst / theirs.worst)
          expect(own.worst, JSON.stringify({ wish, other })).toBeGreaterThanOrEqual(theirs.worst * (1 - 1e-6))
        }
      }
    }
    console.log(`200 scenes, ${compared} other brackets, ${pairs} in two brackets; nearest rival ${least.toFixed(6)}`)
    expect(compared).toBeGreaterThan(20_000)
  })

  it('keeps every limit that it is given', () => {
    for (let n = 0; n < 200; n++) {
      const wish = randomWish()
      const design = designBracket(wish)
      const codes = design.remarks.map((r) => r.code)
      if (codes.includes('hover-below-shortest') || codes.includes('one-frame')) continue
      for (const seconds of [...design.shuttersSeconds, ...design.exposures.map((e) => e.seconds)])
        expect(seconds).toBeLessThanOrEqual(wish.hoverLimitSeconds * 1.0001)
      expect(design.totalSeconds).toBeLessThanOrEqual(wish.timeLimitSeconds)
    }
  })

  it('centres down where the longest frame would smear, and says by how much', () => {
    const still = designBracket({ ...dusk, hoverLimitSeconds: 8 })
    const windy = designBracket({ ...dusk, hoverLimitSeconds: 0.1 })
    expect(Math.max(...windy.exposures.map((e) => e.seconds))).toBeLessThanOrEqual(0.1)
    expect(windy.remarks.some((r) => r.code === 'centred-down' && r.stops > 1)).toBe(true)
    expect(windy.worstSnr).toBeLessThan(still.worstSnr)
  })

  it('takes two brackets where one is too narrow, and only then', () => {
    const narrow = { ...small, patterns: [{ frames: 5, stepStops: 2 / 3 }] }
    const wide = designBracket({ ...dusk, camera: narrow, darkest: 0.002, brightest: 2000, hoverLimitSeconds: 4 })
    expect(wide.brackets).toBe(2)
    expect(wide.exposures).toHaveLength(10)
    expect(wide.remarks.some((r) => r.code === 'two-brackets')).toBe(true)
    expect(designBracket({ ...dusk, camera: narrow }).brackets).toBe(1)
  })

  it('leaves less flicker where the mains is known, at most a sixth of a stop noisier', () => {
    const blind = designBracket({ ...dusk, hoverLimitSeconds: 0.05 })
    const aware = designBracket({ ...dusk, hoverLimitSeconds: 0.05, mainsHertz: 50 })
    expect(Math.log2(blind.worstSnr / aware.worstSnr)).toBeLessThanOrEqual(1 / 6 + 1e-9)
    const short = designBracket({ ...dusk, darkest: 4, brightest: 4000, hoverLimitSeconds: 0.004, mainsHertz: 50 })
    expect(short.remarks.some((r) => r.code === 'flicker')).toBe(true)
  })

  it('says when it can only take one frame, or not even a steady one', () => {
    const hurried = designBracket({ ...dusk, timeLimitSeconds: 0.6 })
    expect(hurried.exposures).toHaveLength(1)
    expect(hurried.remarks.some((r) => r.code === 'one-frame')).toBe(true)
    const storm = designBracket({ ...dusk, hoverLimitSeconds: 1e-6 })
    expect(storm.remarks.some((r) => r.code === 'hover-below-shortest')).toBe(true)
  })

  it('takes a step marked 0.7 as two thirds, so that every time is one of the dial', () => {
    const marked = { ...small, patterns: [{ frames: 5, stepStops: 0.7 }] }
    const { shuttersSeconds } = designBracket({ ...dusk, camera: marked })
    for (const s of shuttersSeconds) expect(shutterSeries.some((step) => step.nominalSeconds === s)).toBe(true)
    expect([0.3, 0.7, 1, 1.3, 1.7, 0.5, 1.5].map((s) => trueStep(s))).toEqual([1 / 3, 2 / 3, 1, 4 / 3, 5 / 3, 0.5, 1.5])
  })

  it('refuses scenes and limits that are none', () => {
    const wrongs = [
      { darkest: 0 },
      { darkest: -1 },
      { darkest: 100 },
      { hoverLimitSeconds: Number.NaN },
      { timeLimitSeconds: 0 },
    ]
    for (const wrong of wrongs)
      expect(() => designBracket({ ...dusk, ...wrong }), JSON.stringify(wrong)).toThrowError(/usage: exposure-wish/)
  })

  it('refuses a camera that contradicts itself', () => {
    const wrongs: Partial<ExposureCamera>[] = [
      { patterns: [] },
      { shortestSeconds: 10 },
      { fNumbers: [0] },
      { isos: [] },
      { fullWellElectrons: -1 },
      { readElectrons: 7000 },
      { writeSeconds: Number.NaN },
      { patterns: [{ frames: 2.5, stepStops: 1 }] },
      { patterns: [{ frames: 3, stepStops: 0 }] },
    ]
    for (const wrong of wrongs)
      expect(() => designBracket({ ...dusk, camera: { ...small, ...wrong } }), JSON.stringify(wrong)).toThrowError(
        /usage: exposure-camera/,
      )
  })
})
