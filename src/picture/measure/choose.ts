import { median, quantile, robustSpread } from '#core/base'
import type { Candidate } from './candidates.ts'
import { type Lamp, measureLamp } from './lamp.ts'
import { byNinth, type Light, ninthOf } from './light.ts'

export interface Chosen {
  readonly lamps: readonly Lamp[]
  /** Radius of the window that holds a blob of this frame, pixels. */
  readonly reach: Reach
}

export const MOST_CANDIDATES = 1600
/** Candidates that are tried for the usual number of lamps. */
const TRIED = 400
const PILOT = 96
/** So many like lamps that fit into their windows are enough to stop looking at wider ones. */
const ENOUGH = 12
/** Window radii, pixels; a blob needs about three times its larger spread. */
export const REACHES = [6, 9, 13, 19] as const
/** Lamps that are used at most: larger windows cost more, and few lamps tell a long movement well. */
const MOST_LAMPS = { 6: 140, 9: 100, 13: 64, 19: 48 } as const
type Reach = (typeof REACHES)[number]

/**
 * The lamps of a frame that look alike: points of light, so that their shape is the frame's and not their own. The window is
 * the one of at least `least` pixels in which the strongest candidates make the strongest set of like blobs. `many` times the
 * usual number are taken.
 */
export function chooseLamps(light: Light, candidates: readonly Candidate[], least: number, many: number): Chosen {
  const pilot = candidates.slice(0, PILOT)
  let best: { reach: Reach; worth: number } = { reach: REACHES[0], worth: -1 }
  for (const reach of REACHES) {
    if (reach < least) continue
    const lamps = lampsOf(light, pilot, reach, PILOT).lamps
    const worth = lamps.reduce((a, l) => a + Math.min(l.strength, 60), 0)
    if (worth > 1.3 * best.worth) best = { reach, worth }
    if (best.reach === reach && lamps.length >= ENOUGH && 3 * Math.sqrt(median(lamps.map((l) => l.size))) + 1 < reach)
      break
  }
  const most = many * MOST_LAMPS[best.reach]
  return lampsOf(light, candidates.slice(0, many * TRIED), best.reach, most)
}

function lampsOf(light: Light, candidates: readonly Candidate[], reach: Reach, most: number): Chosen {
  const found: Lamp[] = []
  for (const candidate of candidates) {
    const lamp = measureLamp(light, candidate, reach)
    if (typeof lamp !== 'string') found.push(lamp)
    if (found.length >= 1.4 * most) break
  }
  return { lamps: alike(light, apart(found, reach)).slice(0, most), reach }
}

/** One of several that settled on the same blob. */
function apart(lamps: readonly Lamp[], reach: number): Lamp[] {
  const kept: Lamp[] = []
  for (const lamp of lamps)
    if (!kept.some((k) => Math.abs(k.x - lamp.x) < reach / 2 && Math.abs(k.y - lamp.y) < reach / 2)) kept.push(lamp)
  return kept
}

/**
 * Lit windows, signs and pairs are larger than points: kept is what is near the smaller ones in size, and of common shape. Size
 * is judged within each ninth of the field where it has lamps enough, since a lens draws the corners larger.
 */
function alike(light: Light, lamps: readonly Lamp[]): Lamp[] {
  if (lamps.length < 3) return [...lamps]
  const smallest = smallOf(lamps)
  const local = byNinth(light, lamps).map((own) => (own.length >= 5 ? smallOf(own) : smallest))
  let kept = lamps.filter((l) => {
    const small = local[ninthOf(light, l)]!
    return l.size > small / 2.2 - 0.3 && l.size < small * 1.8 + 0.3
  })
  for (const k of [0, 1] as const) {
    const of = (l: Lamp) => l.stretch[k] * l.size
    const middle = median(kept.map(of))
    const spread = Math.max(robustSpread(kept.map(of)), 0.1)
    kept = kept.filter((l) => Math.abs(of(l) - middle) < 3.5 * spread)
  }
  return kept
}

const smallOf = (lamps: readonly Lamp[]) =>
  quantile(
    lamps.map((l) => l.size),
    0.35,
  )
