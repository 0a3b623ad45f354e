import type { VerdictBracket, VerdictFrame } from './verdict-types.ts'

/** What a rule finds: a number in its unit, or that it was not measured, or that it does not apply here. */
export type Finding = number | 'not-measured' | 'does-not-apply'

export type RuleId =
  | 'smear-of-best'
  | 'smear-of-longest'
  | 'focus-of-best'
  | 'clipped-in-shortest'
  | 'buried-in-longest'
  | 'frames-missing'
  | 'frames-unreadable'
  | 'step-too-wide'
  | 'iso-differs'
  | 'drift'
  | 'flicker'
  | 'tilt'
  | 'own-strobe'
  | 'haze'
  | 'black-off'

export interface Rule {
  readonly id: RuleId
  /** In words, for tables and pages. */
  readonly looksAt: string
  readonly unit: 'px' | '%' | 'stops' | 'frames' | '°' | 'codes'
  /** The finding above which a bracket is doubtful, and above which it is to be flown again; null = never for that. */
  readonly doubtful: number
  readonly reFly: number | null
  /** True where a missing measurement leaves the verdict open: it is a doubt of its own. */
  readonly needed: boolean
  readonly find: (bracket: VerdictBracket) => Finding
}

/** Under this confidence a smear is a guess and counts as not measured. */
const SMEAR_CONFIDENCE = 0.3

export const smearOf = (f: VerdictFrame): number | null =>
  f.smear && f.smear.confidence >= SMEAR_CONFIDENCE ? f.smear.pixels : null

/** What is not sharp about a frame, in px: motion and defocus blur as two widths that add in squares. */
export const blurOf = (f: VerdictFrame): number | null => {
  const smear = smearOf(f)
  return smear === null ? null : Math.hypot(smear, f.focus?.blurPixels ?? 0)
}

const orUnknown = (value: number | null | undefined): Finding => value ?? 'not-measured'

/** The frame with the least blur; where none is known, the middle exposure of those that were read; null when none was. */
export function bestOf({ frames }: VerdictBracket): VerdictFrame | null {
  const known = frames.filter((f) => blurOf(f) !== null)
  // Within a third of a pixel frames are equally sharp: then the one that holds most of the scene.
  const least = Math.min(...known.map((f) => blurOf(f)!))
  const sharp = known.filter((f) => blurOf(f)! < least + 1 / 3)
  if (sharp.length > 0) return sharp.reduce((a, b) => (lostIn(b) < lostIn(a) ? b : a))
  const read = frames.filter((f) => f.levels !== null).sort((a, b) => a.exposureStops - b.exposureStops)
  return read[(read.length - 1) >> 1] ?? null
}

/** Share of the picture that a frame has lost at either end. */
const lostIn = ({ levels }: VerdictFrame): number =>
  levels ? Math.max(levels.clipped.r, levels.clipped.g, levels.clipped.b) + (levels.buried[0] ?? 0) : 2

const longestRead = (b: VerdictBracket) => (b.levels?.longest == null ? null : (b.frames[b.levels.longest] ?? null))
const shortestRead = (b: VerdictBracket) => (b.levels?.shortest == null ? null : (b.frames[b.levels.shortest] ?? null))

/** Exposures of the frames in order, in stops. */
export const laddered = (b: VerdictBracket): readonly number[] =>
  b.frames
    .map((f) => f.exposureStops)
    .filter(Number.isFinite)
    .sort((x, y) => x - y)

/**
 * The rules of the verdict. Limits are in the unit of the finding and are judgements of the trade (common practice, no
 * source) unless a source stands beside them. A finding above `reFly` makes a bracket worth flying again, one
 * above `doubtful` doubtful.
 */
export const rules: readonly Rule[] = [
  {
    id: 'smear-of-best',
    looksAt: 'motion in the sharpest frame',
    unit: 'px',
    // One pixel is the usual limit of a hover; at two a picture is soft at full size.
    ...{ doubtful: 1, reFly: 2, needed: true },
    find: (b) => {
      const known = b.frames.map(smearOf).filter((v) => v !== null)
      return known.length > 0 ? Math.min(...known) : 'not-measured'
    },
  },
  {
    id: 'smear-of-longest',
    looksAt: 'motion in the longest exposure, which makes the shadows',
    unit: 'px',
    // Shadows forgive more, and the frame can be left out: never a reason to fly again by itself.
    ...{ doubtful: 2, reFly: null, needed: false },
    find: (b) => {
      const longest = longestRead(b)
      return longest ? orUnknown(smearOf(longest)) : 'not-measured'
    },
  },
  {
    id: 'focus-of-best',
    looksAt: 'defocus in the best focused frame',
    unit: 'px',
    ...{ doubtful: 1.5, reFly: 3, needed: true },
    find: (b) => {
      const known = b.frames.flatMap((f) => (f.focus ? [f.focus.blurPixels] : []))
      return known.length > 0 ? Math.min(...known) : 'not-measured'
    },
  },
  {
    id: 'clipped-in-shortest',
    looksAt: 'clipped in the shortest exposure, the worst colour',
    unit: '%',
    // Lamp faces stand 21 to 26 stops over dark ground: some of their cores clip in any bracket.
    ...{ doubtful: 0.1, reFly: 1, needed: true },
    find: (b) => {
      const c = shortestRead(b)?.levels?.clipped
      return c ? 100 * Math.max(c.r, c.g, c.b) : 'not-measured'
    },
  },
  {
    id: 'buried-in-longest',
    looksAt: 'no brighter than the noise in the longest exposure',
    unit: '%',
    // Shadows of a night picture may be black: a tenth of it is no loss.
    ...{ doubtful: 10, reFly: 40, needed: true },
    find: (b) => {
      const share = longestRead(b)?.levels?.buried[0]
      return share === undefined ? 'not-measured' : 100 * share
    },
  },
  {
    id: 'frames-missing',
    looksAt: 'frames fewer than the bracket should have',
    unit: 'frames',
    ...{ doubtful: 0.5, reFly: 1.5, needed: false },
    find: (b) => (b.expectedFrames === null ? 'does-not-apply' : Math.max(0, b.expectedFrames - b.frames.length)),
  },
  {
    id: 'frames-unreadable',
    looksAt: 'frames whose pixels cannot be read',
    unit: 'frames',
    ...{ doubtful: 0.5, reFly: 1.5, needed: false },
    find: (b) => b.frames.filter((f) => f.levels === null).length,
  },
  {
    id: 'step-too-wide',
    looksAt: 'the widest step between neighbouring exposures',
    unit: 'stops',
    // A sensor of 11 to 12 stops leaves a gap of clean tones from about four.
    ...{ doubtful: 3.3, reFly: 6, needed: false },
    find: (b) => {
      const steps = laddered(b).flatMap((v, k, all) => (k > 0 ? [v - all[k - 1]!] : []))
      return steps.length > 0 ? Math.max(...steps) : 'does-not-apply'
    },
  },
  {
    id: 'iso-differs',
    looksAt: 'ISO changes within the bracket',
    unit: 'stops',
    ...{ doubtful: 0.1, reFly: null, needed: false },
    find: (b) => {
      const iso = b.frames.map((f) => f.iso).filter((v) => v !== null)
      return iso.length > 1 ? Math.log2(Math.max(...iso) / Math.min(...iso)) : 'does-not-apply'
    },
  },
  {
    id: 'drift',
    looksAt: 'how far the frames stand apart, of the picture’s width',
    unit: '%',
    // 0.3 m of drift with walls at 30 m and 300 m is 25 px of 4000: 0.6 %, still merged by regions.
    ...{ doubtful: 2, reFly: 10, needed: false },
    find: (b) => {
      const share = b.driftShare ?? b.levels?.driftShare ?? null
      return share === null ? 'does-not-apply' : 100 * share
    },
  },
  {
    id: 'flicker',
    looksAt: 'bands of lamps on alternating current, the swing of their light',
    unit: '%',
    ...{ doubtful: 5, reFly: null, needed: false },
    find: (b) =>
      b.levels?.compared ? 100 * Math.max(0, ...b.levels.flicker.map((f) => f?.depth ?? 0)) : 'does-not-apply',
  },
  {
    id: 'tilt',
    looksAt: 'the horizon is not level',
    unit: '°',
    // 0.5° is 35 px over a 4000 px frame; turning it costs the corners, so never a reason to fly again.
    ...{ doubtful: 0.5, reFly: null, needed: false },
    find: (b) => {
      const tilt = tiltOfBracket(b)
      return tilt === null ? 'does-not-apply' : Math.abs(tilt)
    },
  },
  {
    id: 'own-strobe',
    looksAt: 'a frame lit by something that the others do not show',
    unit: 'stops',
    ...{ doubtful: 0.05, reFly: null, needed: false },
    find: (b) =>
      b.levels?.compared ? Math.max(0, ...b.levels.strobe.map((s) => s?.liftStops ?? 0)) : 'does-not-apply',
  },
  {
    id: 'haze',
    looksAt: 'light of the darkest places over the middle’s: a veil of fog or haze',
    unit: '%',
    ...{ doubtful: 50, reFly: null, needed: false },
    find: (b) => (b.levels?.haze ? 100 * b.levels.haze.veilShare : 'does-not-apply'),
  },
  {
    id: 'black-off',
    looksAt: 'the stated black level is off the pixels',
    unit: 'codes',
    ...{ doubtful: 4, reFly: null, needed: false },
    find: (b) => (b.levels?.blackOffsetCodes == null ? 'does-not-apply' : Math.abs(b.levels.blackOffsetCodes)),
  },
]

/** The surest tilt among the frames: what the picture says before what the gimbal says. */
export function tiltOfBracket({ frames }: VerdictBracket): number | null {
  const tilts = frames.flatMap((f) => (f.levels?.tilt ? [f.levels.tilt] : []))
  const sure = [...tilts].sort((a, b) => (a.errorDegrees ?? 9) - (b.errorDegrees ?? 9))[0]
  return sure?.degrees ?? null
}
