import { describe, expect, it } from 'vitest'
import { type BracketFrame, bracketLevels } from './bracket-levels.ts'
import { type Light, madeSamples, madeTown, measured } from './made-frame.fixture.ts'

const [width, height] = [1600, 1200]
const sensor = { fullWellElectrons: 6000, readNoiseElectrons: 1.8 }
const town = madeTown(width, height, 21)
const clampX = (x: number) => Math.min(Math.max(x, 0), width - 1)
const clampY = (y: number) => Math.min(Math.max(y, 0), height - 1)
/** The town with a few lamps 60 times as bright as white in the middle frame, and an unlit yard. */
const scene: Light = (x, y, p) => {
  if (x > 1400 && y > 900) return 0.00004
  const lamp = x % 200 < 6 && y % 150 < 6 && y > 500 ? 60 : 0
  return town(x, y, p) + lamp
}

function bracket(
  stops: readonly number[],
  over: { black?: number; light?: (k: number) => Light } = {},
): BracketFrame[] {
  const black = over.black ?? 256
  return stops.map((exposureStops, k) => {
    const own = over.light?.(k) ?? scene
    const light: Light = (x, y, p) => 2 ** exposureStops * own(x, y, p)
    const {
      levels,
      light: cells,
      columns,
      rows,
    } = measured(madeSamples(sensor, width, height, light, 31 + k), width, height, {
      black: [black, black, black, black],
    })
    return {
      ...{ levels, exposureSeconds: 0.25 * 2 ** exposureStops, iso: 100, exposureStops },
      light: { columns, rows, light: cells, noise: levels.noise!.used, exposureStops },
    }
  })
}

describe('a bracket', () => {
  const wide = bracket([-6, -3, 0, 3])
  const found = bracketLevels(wide)

  it('is known by its ends: shortest and longest, in whatever order they were taken', () => {
    expect([found.shortest, found.longest]).toEqual([0, 3])
    const turned = bracketLevels([wide[2]!, wide[0]!, wide[3]!, wide[1]!])
    expect([turned.shortest, turned.longest]).toEqual([1, 2])
    expect(turned.span).toEqual(bracketLevels([wide[0]!, wide[1]!, wide[2]!, wide[3]!]).span)
  })

  it('spans the scene’s light from its darkest 1 % to its brightest 0.01 %, to half a stop', () => {
    // Red sees 0.55 of the town’s light and all of a lamp’s; the lamp is 60, the yard 0.00004 of the third frame’s white.
    const middle = -3
    const truth = { top: Math.log2(60) - -middle, bottom: Math.log2(0.00004) + middle }
    console.log(`span ${JSON.stringify(found.span)}; truth ${truth.top.toFixed(2)} to ${truth.bottom.toFixed(2)}`)
    expect(found.span!.topOpen).toBe(false)
    expect(Math.abs(found.span!.topStops - truth.top)).toBeLessThan(0.5)
    // The yard is 2 electrons in the longest frame: no more than its noise, so it is at least this dark.
    expect(found.span!.bottomOpen).toBe(true)
    expect(found.span!.bottomStops).toBeGreaterThan(truth.bottom - 0.5)
    expect(found.span!.stops).toBeCloseTo(found.span!.topStops - found.span!.bottomStops, 9)
    const narrow = bracketLevels(wide.slice(1, 3)).span!
    expect(narrow.topOpen && narrow.bottomOpen).toBe(true)
  })

  it('without a fault shows none: no bands, no strobe, black where it should be', () => {
    expect(found.compared).toBe(true)
    expect(found.flicker).toEqual([null, null, null, null])
    expect(found.strobe).toEqual([null, null, null, null])
    expect(Math.abs(found.blackOffsetCodes!)).toBeLessThan(0.5)
    expect(found.haze!.veilShare).toBeLessThan(0.2)
  })

  it('tells its noise from all frames together to 5 %', () => {
    expect(Math.abs(found.noise!.fullWellElectrons / 6000 - 1)).toBeLessThan(0.05)
    expect(Math.abs(found.noise!.readElectrons! / 1.8 - 1)).toBeLessThan(0.05)
  })

  it('tells a black level that is stated six codes off, to one code', () => {
    for (const off of [-6, 6]) {
      const { blackOffsetCodes } = bracketLevels(bracket([-5, -2, 1], { black: 256 - off }))
      console.log(`black off by ${off} codes: found ${blackOffsetCodes!.toFixed(2)}`)
      expect(Math.abs(blackOffsetCodes! - off)).toBeLessThan(1)
    }
  })

  it('believes masked areas before the line between frames', () => {
    const masked = bracket([-5, -2, 1]).map((f, k) => ({ ...f, maskedBlackCodes: [7, 5, 6][k]! }))
    expect(bracketLevels(masked).blackOffsetCodes).toBe(6)
  })

  it('shows bands of lamps and a lit frame from the mosaics themselves', () => {
    const bands = bracket([-5, -2, 1], {
      light: (k) => (x, y, p) => scene(x, y, p) * (k === 0 ? 1 + 0.5 * Math.cos((2 * Math.PI * y) / 240) : 1),
    })
    const { flicker } = bracketLevels(bands)
    expect(flicker[0]!.rowsPerCycle / 240).toBeGreaterThan(0.95)
    expect(flicker[0]!.rowsPerCycle / 240).toBeLessThan(1.05)
    expect(flicker[0]!.depth).toBeGreaterThan(0.4)
    expect(flicker.slice(1)).toEqual([null, null])
    const lit = bracket([-4, -2, 0], { light: (k) => (x, y, p) => scene(x, y, p) + (k === 1 ? 0.03 : 0) })
    expect(bracketLevels(lit).strobe.map((s) => s?.extent ?? null)).toEqual([null, 'whole', null])
  })

  it('tells how far its frames stand apart to 0.2 % of the width', () => {
    let worst = 0
    for (const [dx, dy] of [
      [0, 0],
      [24, -10],
      [-40, 35],
    ] as const) {
      const apart = bracket([-4, -2, 0], {
        light: (k) => (k === 0 ? (x, y, p) => scene(clampX(x - dx), clampY(y - dy), p) : scene),
      })
      worst = Math.max(worst, Math.abs(bracketLevels(apart).driftShare! - Math.hypot(dx, dy) / width))
    }
    console.log(`drift: worst ${(100 * worst).toFixed(2)} % of the width`)
    expect(worst).toBeLessThan(0.002)
  })

  it('of unreadable or rendered frames, or of one, says so by null', () => {
    const none = { levels: null, light: null, exposureSeconds: null, iso: null, exposureStops: Number.NaN }
    const empty = bracketLevels([none, none])
    expect(empty).toMatchObject({ shortest: null, longest: null, span: null, compared: false, haze: null, noise: null })
    expect(empty.flicker).toEqual([null, null])
    const one = bracketLevels([none, wide[1]!])
    expect(one).toMatchObject({ shortest: 1, longest: 1, compared: false, strobe: [null, null] })
    expect(bracketLevels([])).toMatchObject({ shortest: null, flicker: [] })
  })
})
