import { NextMoonQuarter, SearchMoonQuarter, Seasons } from 'astronomy-engine'
import { astroTime } from './bodies.ts'
import type { Instant } from './clock.ts'

/** 0 new, 1 first quarter, 2 full, 3 last quarter. */
export interface MoonQuarter {
  readonly quarter: 0 | 1 | 2 | 3
  readonly at: Instant
}

/** The quarters of the moon in [from, to). */
export function moonQuarters(from: Instant, to: Instant): MoonQuarter[] {
  const found: MoonQuarter[] = []
  let next = SearchMoonQuarter(astroTime(from))
  while (next.time.date.getTime() < to) {
    found.push({ quarter: next.quarter as MoonQuarter['quarter'], at: next.time.date.getTime() })
    next = NextMoonQuarter(next)
  }
  return found
}

/** Equinoxes and solstices of a year, in order from March. */
export function seasonsOf(year: number): readonly [Instant, Instant, Instant, Instant] {
  const s = Seasons(year)
  const at = (t: { date: Date }) => t.date.getTime()
  return [at(s.mar_equinox), at(s.jun_solstice), at(s.sep_equinox), at(s.dec_solstice)]
}
