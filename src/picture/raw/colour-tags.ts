import type { LeftOut } from '#core/base'
import type { ColourCalibration } from '#core/colour'
import type { TagReader } from '#core/formats'
import type { NoiseTerm } from './types.ts'

/** Reads from the first of the directories that has the tag: colour lies in IFD0, but raw SubIFDs repeat it at times. */
function firstNumbers(places: readonly TagReader[], tag: number): number[] | null {
  for (const place of places) {
    const values = place.numbers(tag)
    if (values !== null) return values
  }
  return null
}

function firstText(places: readonly TagReader[], tag: number): string {
  for (const place of places) {
    const text = place.text(tag)
    if (text !== null) return text
  }
  return ''
}

/**
 * The colour tags of DNG 1.6 chapters 4 and 6, for three planes. A value of the wrong count, not finite, or all zero is
 * left out: a wrong matrix is worse than none.
 */
export function colourOf(places: readonly TagReader[], leftOut: LeftOut[]): ColourCalibration {
  const checked = (tag: number, count: number, good: (v: number) => boolean): number[] | null => {
    const values = firstNumbers(places, tag)
    if (values === null) return null
    if (values.length === count && values.every(good) && values.some((v) => v !== 0)) return values
    leftOut.push({
      what: `tag ${tag}`,
      reason: 'colour-tag-unusable',
      facts: { tag, expected: count, found: values.slice(0, 9).map((v) => String(v)) },
    })
    return null
  }
  const matrix = (tag: number) => checked(tag, 9, (v) => Math.abs(v) <= 1000)
  const positive = (v: number) => v > 0 && v <= 1e6
  // Chapter 6: the calibrations count only when both signatures are the same text; both absent are both empty.
  const signed = firstText(places, 50931) === firstText(places, 50932)
  return {
    illuminant1: firstNumbers(places, 50778)?.[0] ?? null,
    illuminant2: firstNumbers(places, 50779)?.[0] ?? null,
    colorMatrix1: matrix(50721),
    colorMatrix2: matrix(50722),
    forwardMatrix1: matrix(50964),
    forwardMatrix2: matrix(50965),
    cameraCalibration1: signed ? matrix(50723) : null,
    cameraCalibration2: signed ? matrix(50724) : null,
    analogBalance: checked(50727, 3, positive),
    asShotNeutral: checked(50728, 3, positive),
    asShotWhiteXY: checked(50729, 2, (v) => v > 0 && v < 1),
  }
}

/** NoiseProfile: one pair for all planes or one each; zeros are what writers put who do not know (null). */
export function noiseOf(places: readonly TagReader[], leftOut: LeftOut[]): NoiseTerm[] | null {
  const values = firstNumbers(places, 51041)
  if (values === null || values.every((v) => v === 0)) return null
  const good = (v: number, i: number) => (i % 2 === 0 ? v > 0 : v >= 0) && v < 1
  if ((values.length !== 2 && values.length !== 6) || !values.every(good)) {
    leftOut.push({
      what: 'noise profile',
      reason: 'noise-profile-unusable',
      facts: { tag: 51041, found: values.slice(0, 8).map((v) => String(v)) },
    })
    return null
  }
  const terms: NoiseTerm[] = []
  for (let i = 0; i < values.length; i += 2) terms.push({ scale: values[i]!, offset: values[i + 1]! })
  return terms
}

/** BaselineExposure in stops; 0 when absent, 0/0 or beyond ±20. */
export function baselineExposureOf(places: readonly TagReader[]): number {
  const stops = firstNumbers(places, 50730)?.[0] ?? 0
  return Math.abs(stops) <= 20 ? stops : 0
}
