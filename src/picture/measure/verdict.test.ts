import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import type { BracketLevels } from './bracket-levels.ts'
import { levels } from './made-levels.fixture.ts'
import { type RuleId, rules } from './rules.ts'
import { verdictOf } from './verdict.ts'
import type { VerdictBracket, VerdictFrame } from './verdict-types.ts'

function frame(k: number, over: Partial<VerdictFrame> = {}): VerdictFrame {
  return {
    ...{ file: `${k}.dng`, exposureSeconds: 2 ** (k - 3), iso: 100, exposureStops: k - 3 },
    smear: { pixels: 0.3 * 1.3 ** k, directionDegrees: 20, confidence: 0.9 },
    ...{ focus: { blurPixels: 0.5 }, levels: levels() },
    ...over,
  }
}

const together: BracketLevels = {
  ...{
    shortest: 0,
    longest: 4,
    span: null,
    compared: true,
    haze: null,
    noise: null,
    driftShare: null,
    blackOffsetCodes: null,
  },
  flicker: [null, null, null, null, null],
  strobe: [null, null, null, null, null],
}

interface Change {
  readonly frames?: (f: VerdictFrame, k: number) => Partial<VerdictFrame>
  readonly bracket?: Partial<VerdictBracket>
  readonly levels?: Partial<BracketLevels>
}

/** A sound bracket of five frames, and what is wrong with it. */
function bracket(change: Change = {}): VerdictBracket {
  const frames = [0, 1, 2, 3, 4].map((k) => frame(k))
  return {
    frames: frames.map((f, k) => ({ ...f, ...change.frames?.(f, k) })),
    ...{ expectedFrames: 5, stepStops: 1, driftShare: 0.004 },
    levels: { ...together, ...change.levels },
    ...change.bracket,
  }
}

const smear = (pixels: number) => ({ pixels, directionDegrees: 0, confidence: 0.9 })
const only = (at: number, over: (f: VerdictFrame) => Partial<VerdictFrame>) => ({
  frames: (f: VerdictFrame, k: number) => (k === at ? over(f) : {}),
})

/** For each rule a bracket whose finding is `value` in the rule's unit. */
const withFinding: Record<RuleId, (value: number) => VerdictBracket> = {
  'smear-of-best': (v) => bracket({ frames: (_, k) => ({ smear: smear(v + 0.05 * k) }) }),
  'smear-of-longest': (v) => bracket(only(4, () => ({ smear: smear(v) }))),
  'focus-of-best': (v) => bracket({ frames: () => ({ focus: { blurPixels: v } }) }),
  'clipped-in-shortest': (v) => bracket(only(0, () => ({ levels: levels({ clipped: { r: 0, g: 0, b: v / 100 } }) }))),
  'buried-in-longest': (v) =>
    bracket(only(4, () => ({ levels: levels({ buried: [v / 100, v / 200, 0, 0, 0, 0, 0] }) }))),
  'frames-missing': (v) => bracket({ bracket: { expectedFrames: 5 + Math.round(v) } }),
  'frames-unreadable': (v) => bracket({ frames: (_, k) => (k >= 1 && k <= Math.round(v) ? { levels: null } : {}) }),
  'step-too-wide': (v) => bracket({ frames: (f, k) => ({ exposureStops: k === 4 ? v : f.exposureStops }) }),
  'iso-differs': (v) => bracket(only(2, () => ({ iso: 100 * 2 ** v }))),
  drift: (v) => bracket({ bracket: { driftShare: v / 100 } }),
  flicker: (v) => bracket({ levels: { flicker: [band(v / 100), null, null, null, null] } }),
  tilt: (v) =>
    bracket(
      only(2, () => ({
        levels: levels({ tilt: { degrees: -v, basis: 'verticals', errorDegrees: 0.05, gimbalDegrees: 0 } }),
      })),
    ),
  'own-strobe': (v) =>
    bracket({ levels: { strobe: [null, null, { extent: 'whole', share: 1, liftStops: v }, null, null] } }),
  haze: (v) => bracket({ levels: { haze: { veilShare: v / 100, depthStops: 1, contrastLoss: null } } }),
  'black-off': (v) => bracket({ levels: { blackOffsetCodes: -v } }),
}

const band = (depth: number) => ({ cyclesPerRow: 1e-3, rowsPerCycle: 1000, hertz: null, depth, confidence: 1 })
const counted = (id: RuleId) => rules.find((r) => r.id === id)!.unit === 'frames'

describe('a verdict', () => {
  it('on a sound bracket is keep, with the sharpest frame as its best and no reason', () => {
    expect(verdictOf(bracket())).toEqual({ verdict: 'keep', reasons: [], best: '0.dng', advice: [] })
  })

  for (const rule of rules) {
    const at = (v: number) => verdictOf(withFinding[rule.id](v))
    const [under, over] = counted(rule.id)
      ? [rule.doubtful - 0.5, rule.doubtful + 0.5]
      : [0.98 * rule.doubtful, 1.02 * rule.doubtful]

    it(`${rule.id}: ${under.toFixed(2)} ${rule.unit} is kept, ${over.toFixed(2)} ${rule.unit} is doubtful`, () => {
      expect(at(under).reasons).toEqual([])
      expect(at(under).verdict).toBe('keep')
      const doubtful = at(over)
      expect(doubtful.verdict).toBe('doubtful')
      expect(doubtful.reasons.map((r) => r.rule)).toContain(rule.id)
      const reason = doubtful.reasons.find((r) => r.rule === rule.id)!
      expect(reason.limit).toBe(rule.doubtful)
      expect(Math.abs(reason.value! / over - 1)).toBeLessThan(counted(rule.id) ? 1.1 : 0.03)
      expect(doubtful.advice.length).toBeGreaterThan(0)
    })

    if (rule.reFly !== null) {
      const [below, above] = counted(rule.id)
        ? [rule.reFly - 0.5, rule.reFly + 0.5]
        : [0.98 * rule.reFly, 1.02 * rule.reFly]
      it(`${rule.id}: ${below.toFixed(2)} ${rule.unit} is doubtful, ${above.toFixed(2)} ${rule.unit} is to be flown again`, () => {
        expect(at(below).verdict).toBe('doubtful')
        expect(at(above).verdict).toBe('re-fly')
        expect(at(above).reasons[0]).toMatchObject({ rule: rule.id, limit: rule.reFly })
      })
    }
  }

  it('never keeps what it has not seen: each needed measurement that is missing is a doubt of its own', () => {
    const cases: [RuleId, VerdictBracket][] = [
      ['smear-of-best', bracket({ frames: () => ({ smear: null }) })],
      ['smear-of-best', bracket({ frames: () => ({ smear: { pixels: 0.1, directionDegrees: 0, confidence: 0.1 } }) })],
      ['focus-of-best', bracket({ frames: () => ({ focus: null }) })],
      ['clipped-in-shortest', bracket({ bracket: { levels: null } })],
      ['buried-in-longest', bracket({ bracket: { levels: null } })],
      ['smear-of-best', bracket({ frames: () => ({ smear: smear(Number.NaN) }) })],
    ]
    for (const [rule, b] of cases) {
      const { verdict, reasons, advice } = verdictOf(b)
      expect(verdict).toBe('doubtful')
      expect(reasons).toContainEqual({ rule, value: null, limit: rules.find((r) => r.id === rule)!.doubtful })
      expect(advice.map((a) => a.code)).toContain('measure-by-eye')
    }
    const nothing = verdictOf(
      bracket({ frames: () => ({ levels: null, smear: null, focus: null }), bracket: { levels: null } }),
    )
    expect(nothing.verdict).toBe('re-fly')
    expect(nothing.best).toBeNull()
    expect(verdictOf({ ...bracket({ bracket: { levels: null } }), frames: [] }).verdict).toBe('re-fly')
  })

  it('names the sharpest frame, among equally sharp ones the one that holds most of the scene', () => {
    const sharp = bracket({ frames: (_, k) => ({ smear: smear([2, 1.5, 0.4, 1.1, 3][k]!) }) })
    expect(verdictOf(sharp).best).toBe('2.dng')
    const alike = bracket({
      frames: (_, k) => ({ smear: smear(0.5), levels: levels({ buried: [[0.5, 0.2, 0.1, 0.02, 0.01][k]!] }) }),
    })
    expect(verdictOf(alike).best).toBe('4.dng')
    // A round blur is as bad as a streak.
    const soft = bracket({ frames: (_, k) => ({ smear: smear(0.4), focus: { blurPixels: k === 3 ? 0.2 : 2 } }) })
    expect(verdictOf(soft).best).toBe('3.dng')
    const unknown = bracket({ frames: () => ({ smear: null }) })
    expect(verdictOf(unknown).best).toBe('2.dng')
  })

  describe('advises in stops that follow from the numbers', () => {
    const adviceOn = (b: VerdictBracket, code: string) => verdictOf(b).advice.find((a) => a.code === code)?.facts

    it('four times the smear is two stops too long', () => {
      expect(adviceOn(withFinding['smear-of-best'](4), 'shorten-all')).toEqual({ stops: 2, wholeStops: 2 })
      // 8 px at a limit of 2 px: a quarter of 2 s.
      expect(adviceOn(withFinding['smear-of-longest'](8), 'shorten-longest')).toEqual({
        ...{ stops: 2, seconds: 0.5, file: '4.dng' },
      })
      expect(adviceOn(withFinding['smear-of-longest'](8), 'leave-out-longest')).toEqual({ file: '4.dng' })
    })

    it('a clipped share that halves with each stop and is four times the limit wants two frames more', () => {
      const b = bracket({
        frames: (_, k) => ({ levels: levels({ clipped: { r: 0.004 * 2 ** k, g: 0, b: 0 } }) }),
      })
      expect(adviceOn(b, 'add-short-frames')).toEqual({ stops: 2, frames: 2 })
      const steep = bracket({
        frames: (_, k) => ({ levels: levels({ clipped: { r: 0.004 * 4 ** k, g: 0, b: 0 } }) }),
      })
      expect(adviceOn(steep, 'add-short-frames')).toEqual({ stops: 1, frames: 1 })
      const half = { ...b, stepStops: 0.7 }
      expect(adviceOn(half, 'add-short-frames')).toEqual({ stops: 2, frames: 3 })
    })

    it('a buried share that falls below the limit after two stops wants two stops more, with what that smears', () => {
      const b = bracket(
        only(4, () => ({ levels: levels({ buried: [0.3, 0.15, 0.08, 0.02, 0, 0, 0] }), smear: smear(0.4) })),
      )
      expect(adviceOn(b, 'add-long-frames')).toEqual({ stops: 2, frames: 2, seconds: 8, smearPixels: 1.6 })
    })

    it('bands want whole periods of the lamps’ light, the tilt a turn the other way, the lit frame left out', () => {
      expect(adviceOn(withFinding.flicker(30), 'whole-mains-periods')).toEqual({
        ...{ file: '0.dng', shutters: ['1/100', '1/50', '1/120', '1/60'] },
      })
      const known = bracket({ levels: { flicker: [{ ...band(0.3), hertz: 118 }, null, null, null, null] } })
      expect(adviceOn(known, 'whole-mains-periods')).toMatchObject({ shutters: ['1/120', '1/60'] })
      expect(adviceOn(withFinding.tilt(2), 'turn-picture')).toEqual({ clockwiseDegrees: -2 })
      expect(adviceOn(withFinding['own-strobe'](1), 'leave-out-frame')).toEqual({ file: '2.dng' })
      expect(adviceOn(withFinding['step-too-wide'](5), 'narrow-step')).toEqual({ stops: 5, framesBetween: 2 })
    })
  })

  it('does not get better when anything gets worse', () => {
    const order = ['keep', 'doubtful', 're-fly']
    fc.assert(
      fc.property(
        fc.constantFrom(...rules),
        fc.double({ min: 0, max: 4, noNaN: true }),
        fc.double({ min: 1, max: 3, noNaN: true }),
        (rule, v, factor) => {
          const value = v * rule.doubtful
          const [less, more] = [value, value * factor].map((x) => verdictOf(withFinding[rule.id](x)).verdict)
          expect(order.indexOf(more!)).toBeGreaterThanOrEqual(order.indexOf(less!))
        },
      ),
    )
  })
})
