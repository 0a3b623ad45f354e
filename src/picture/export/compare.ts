/** How far a picture that was read back is from the one that was meant. */
export interface Difference {
  readonly measure: 'exact' | 'decibels' | 'percent'
  readonly value: number
  readonly limit: number
  readonly ok: boolean
}

/** A lossy print at any quality that is offered stays above this; a picture that is another one does not. */
const LEAST_DECIBELS = 22
/** A finite number for "no difference at all". */
const MOST_DECIBELS = 200
/** The brighter rendition, for 99 of 100 samples. */
const MOST_PERCENT = 2

/** Samples that differ; 0 is right, and so is nothing else. Lists of different length differ throughout. */
export function exactly(meant: ArrayLike<number>, found: ArrayLike<number>): Difference {
  let differ = meant.length === found.length ? 0 : Math.max(meant.length, found.length)
  for (let i = 0; differ < meant.length && i < meant.length; i++) if (meant[i] !== found[i]) differ++
  return { measure: 'exact', value: differ, limit: 0, ok: differ === 0 }
}

/** Peak signal to noise, decibels: 10 log10(peak² / mean square). */
export function decibels(meant: ArrayLike<number>, found: ArrayLike<number>, peak: number): Difference {
  let squares = meant.length === found.length ? 0 : Number.POSITIVE_INFINITY
  for (let i = 0; squares < Number.POSITIVE_INFINITY && i < meant.length; i++) squares += (meant[i]! - found[i]!) ** 2
  const value = squares === 0 ? MOST_DECIBELS : 10 * Math.log10((peak ** 2 * Math.max(1, meant.length)) / squares)
  const rounded = Number.isFinite(value) ? Math.round(value * 100) / 100 : 0
  return { measure: 'decibels', value: rounded, limit: LEAST_DECIBELS, ok: rounded >= LEAST_DECIBELS }
}

/**
 * Difference of linear lights in percent of what was meant, the worst of 99 % of the samples. Lights well under white count
 * from 1/64 of it: that much is added on both sides before a gain is taken. What is no number counts as wrong.
 */
export function percent(meant: (i: number) => number, found: (i: number) => number, count: number): Difference {
  const bins = new Uint32Array(2048)
  const last = bins.length - 1
  for (let i = 0; i < count; i++) {
    const light = meant(i)
    const relative = Math.abs(found(i) - light) / (light + 1 / 64)
    bins[relative * 10_000 < last ? Math.ceil(relative * 10_000) : last]!++
  }
  let seen = 0
  let bin = 0
  while (bin < last && seen + bins[bin]! < 0.99 * count) seen += bins[bin++]!
  const value = bin / 100
  return { measure: 'percent', value, limit: MOST_PERCENT, ok: value <= MOST_PERCENT }
}
