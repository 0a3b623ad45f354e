import type { NoiseTerm } from '#core/sensor'
import type { BracketLevels, VerdictFrame } from '#picture/measure'
import { uprightDegrees } from '#picture/measure'
import type { MeasuredFrame } from './check-frames.ts'
import type { CheckDocument } from './contract/index.ts'

type CheckedFrame = CheckDocument['frames'][number]

const rounded = (value: number, digits: number) => Number(value.toFixed(digits))
/** Blur that grows to this many times its least over the field is told: a decentred or tilted lens, or a near subject. */
const UNEVEN = 1.6
/** Row offsets that stand above the noise of one sample by half show in a lifted sky. */
const BANDS_SHOW = 0.5

/** What is written of one measured frame; its span and what only its bracket can tell come with `flagsOf`. */
export function checkedFrame(m: MeasuredFrame, thumbnail: string | null, flags: readonly string[]): CheckedFrame {
  const { levels, smear: found, frame, orientation } = m
  const { smear, focus, why } = found
  const noise = levels.noise?.measured[1] ?? null
  const own = [
    levels.basis === 'rendered' ? 'finished-picture' : null,
    levels.clipsEarly ? 'saturates-below-white' : null,
    levels.noise?.profile && !levels.noise.profile.agrees ? 'noise-unlike-profile' : null,
    levels.banding && levels.noise && levels.banding.codes > BANDS_SHOW * darkCodes(levels.noise)
      ? 'row-offsets'
      : null,
    focus?.unevenness && focus.unevenness > UNEVEN ? 'focus-uneven' : null,
    why ? `smear-${why}` : null,
  ].filter((flag) => flag !== null)
  return {
    file: frame.file,
    smear: smear && {
      pixels: rounded(smear.pixels, 2),
      directionDegrees:
        smear.directionDegrees === null ? null : rounded(uprightDegrees(smear.directionDegrees, orientation), 1),
      confidence: rounded(smear.confidence, 2),
    },
    focus: focus && { blurPixels: rounded(focus.blurPixels, 2) },
    clipped: {
      r: rounded(levels.clipped.r, 6),
      g: rounded(levels.clipped.g, 6),
      b: rounded(levels.clipped.b, 6),
    },
    noise: noise && {
      readElectrons: noise.readElectrons === null ? null : rounded(noise.readElectrons, 2),
      gain: rounded(noise.gain, 5),
    },
    tiltDegrees: levels.tilt && rounded(levels.tilt.degrees, 2),
    flags: [...own, ...flags],
    span: null,
    thumbnail,
  }
}

/** Standard deviation of a sample without light, in codes. */
const darkCodes = ({ used, grain }: { used: NoiseTerm; grain: readonly ({ range: number } | null)[] }) =>
  Math.sqrt(used.offset) * (grain.find((g) => g !== null)?.range ?? Number.POSITIVE_INFINITY)

/** The signal that equals its own noise: x = √(scale·x + offset). */
const floorOf = ({ scale, offset }: NoiseTerm) => (scale + Math.sqrt(scale ** 2 + 4 * offset)) / 2

/**
 * What a frame holds of the scene, in stops with 0 at the saturation of the exposure `middleStops`; and what the frames of
 * its bracket show about it.
 */
export function flagsOf(
  frame: VerdictFrame,
  bracket: BracketLevels,
  k: number,
  middleStops: number,
): Pick<CheckedFrame, 'flags' | 'span'> {
  const high = middleStops - frame.exposureStops
  const noise = frame.levels?.noise?.used
  const span =
    Number.isFinite(high) && noise
      ? { lowStops: rounded(high + Math.log2(floorOf(noise)), 2), highStops: rounded(high, 2) }
      : null
  const flags = [bracket.flicker[k] ? 'flicker' : null, bracket.strobe[k] ? 'own-strobe' : null]
  return { span, flags: flags.filter((flag) => flag !== null) }
}
