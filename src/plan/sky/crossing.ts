import { type Instant, MINUTE } from './clock.ts'

/** When a falling level passes another, or why it does not in the time looked at. */
export type Crossing = { readonly at: Instant } | { readonly never: 'stays-above' | 'stays-below' }

/** Half a second: far within what any model of the light knows. */
const PRECISION = 500

/**
 * The first time in [from, to] at which `levelAt` falls below `level`. Looked for minute by minute, because clouds of
 * moonlight may lift it again; then halved.
 */
export function fallsBelow(levelAt: (at: Instant) => number, level: number, from: Instant, to: Instant): Crossing {
  if (levelAt(from) < level) return { never: 'stays-below' }
  for (let at = from; at < to; at += MINUTE) {
    const next = Math.min(at + MINUTE, to)
    if (levelAt(next) >= level) continue
    let [high, low] = [at, next]
    while (low - high > PRECISION) {
      const middle = (low + high) / 2
      if (levelAt(middle) < level) low = middle
      else high = middle
    }
    return { at: low }
  }
  return { never: 'stays-above' }
}
