import { Failure } from '#core/base'

/**
 * The value itself when it is a number within [low, high]; else a `flight-fact-unusable` failure (usage) that names the
 * fact and what was expected. Everything that enters this room as a number passes here, so that no result is NaN.
 */
export function within(fact: string, value: number, low: number, high: number): number {
  if (!(value >= low && value <= high)) throw new Failure('usage', 'flight-fact-unusable', { fact, value, low, high })
  return value
}

/** Heights above take-off that this room works with, in metres: a valley below, and far over any ceiling. */
export const height = (fact: string, metres: number): number => within(fact, metres, -1000, 10_000)

/** Any finite angle. */
export const angle = (fact: string, degrees: number): number => within(fact, degrees, -1e6, 1e6)

/** A figure for a sentence: one decimal; null stays null. */
export const tenth = <T extends number | null>(value: T): T =>
  (value === null ? value : Math.round(value * 10) / 10) as T
