import { Failure } from '#core/base'
import { checkExposureCamera, type ExposureCamera, type Pattern } from './camera.ts'
import { type Candidate, candidatesOf, pairsOf, singlesOf } from './candidates.ts'
import { type Exposure, ev100OfLuminance, secondsFor } from './ev.ts'
import { FLICKER_SHOWS, flickerLeft } from './flicker.ts'
import { type Rating, rate, sceneLevels } from './rating.ts'
import { nominalSeconds } from './series.ts'
import { frameSnr, mergedSnr } from './snr.ts'

export interface BracketWish {
  readonly camera: ExposureCamera
  /** The darkest and the brightest luminance that must be held, and the subject's; cd/m². */
  readonly darkest: number
  readonly brightest: number
  readonly subject: number
  readonly hoverLimitSeconds: number
  /** For the whole bracket, writing included. */
  readonly timeLimitSeconds: number
  /** 50 or 60 where lamps flicker, else null. */
  readonly mainsHertz: number | null
}

/** What is to know about a bracket; facts in stops and seconds. */
export type BracketRemark =
  | { readonly code: 'centred-down'; readonly stops: number }
  | { readonly code: 'clipped-above'; readonly stops: number }
  | { readonly code: 'buried-below'; readonly stops: number }
  | { readonly code: 'two-brackets'; readonly offsetStops: number }
  | { readonly code: 'one-frame'; readonly why: 'time' | 'hover' }
  | { readonly code: 'hover-below-shortest'; readonly shortestSeconds: number }
  | { readonly code: 'flicker'; readonly shuttersSeconds: readonly number[]; readonly mainsHertz: number }

export interface BracketDesign {
  /** Shortest first, exact times. */
  readonly exposures: readonly Exposure[]
  /** The same as the dial names them. */
  readonly shuttersSeconds: readonly number[]
  readonly pattern: Pattern
  /** 1, or 2 for two offset brackets of that pattern. */
  readonly brackets: 1 | 2
  /** Shutter open and writing. */
  readonly totalSeconds: number
  /** Least signal over noise, merged, over the levels that some frame holds. */
  readonly worstSnr: number
  readonly subjectSnr: number
  readonly subjectSnrSingle: number
  readonly middle: Exposure
  readonly remarks: readonly BracketRemark[]
}

/** Lamps' flicker decides between brackets whose worst noise is within a sixth of a stop. */
const FLICKER_SLACK = 2 ** (1 / 6)

/**
 * The bracket with the least worst-case noise (noise-optimal capture: Hasinoff, Durand, Freeman 2010). Of all that the
 * camera can take with no frame over the hover limit and all within the time limit: first those that lose the fewest
 * stops to clipping, of those the one whose merged signal over noise, where it is least in the scene, is greatest; of
 * equals the shorter. Two offset brackets are considered when one leaves a part of the scene clipped or below a signal
 * over noise of 1. Where lamps flicker, a bracket at most a sixth of a stop noisier is taken if less flicker is left in it.
 * @throws Failure usage "exposure-camera", "exposure-wish"
 */
export function designBracket(wish: BracketWish): BracketDesign {
  const camera = checkExposureCamera(wish.camera)
  checkWish(wish)
  const levels = sceneLevels(wish.darkest, wish.brightest)
  const limits = {
    longestSeconds: Math.min(wish.hoverLimitSeconds, camera.longestSeconds),
    totalSeconds: wish.timeLimitSeconds,
  }
  const better = (list: Iterable<Candidate>) => best(camera, list, levels, wish.mainsHertz)
  let found = better(candidatesOf(camera, limits))
  if (!found || found.rating.lostLevels > 0 || found.rating.worstSnr < 1) {
    const pair = better(pairsOf(camera, limits))
    if (pair && (!found || exceeds(pair.rating, found.rating))) found = pair
  }
  const remarks: BracketRemark[] = []
  if (!found) {
    found = better(singlesOf(camera, limits.longestSeconds))
    remarks.push({ code: 'one-frame', why: limits.longestSeconds < camera.shortestSeconds * 2 ? 'hover' : 'time' })
  }
  if (!found) {
    // Even the shortest frame smears: it is named, and nothing better can be had.
    remarks.push({ code: 'hover-below-shortest', shortestSeconds: camera.shortestSeconds })
    found = better(singlesOf(camera, camera.shortestSeconds))!
  }
  return designOf(wish, found, levels, remarks)
}

/** Luminances from dark to bright, and limits that are times. */
function checkWish(wish: BracketWish): void {
  for (const fact of ['darkest', 'brightest', 'subject', 'hoverLimitSeconds', 'timeLimitSeconds'] as const)
    if (!(wish[fact] > 0 && Number.isFinite(wish[fact])))
      throw new Failure('usage', 'exposure-wish', { fact, found: String(wish[fact]) })
  if (wish.brightest < wish.darkest)
    throw new Failure('usage', 'exposure-wish', { fact: 'brightest', found: `${wish.brightest}, below darkest` })
}

interface Rated {
  readonly candidate: Candidate
  readonly rating: Rating
}

/** Better by lost levels, then by the worst signal over noise; a billionth is no difference. */
const exceeds = (a: Rating, b: Rating): boolean =>
  a.lostLevels !== b.lostLevels ? a.lostLevels < b.lostLevels : a.worstSnr > b.worstSnr * (1 + 1e-9)

function best(
  camera: ExposureCamera,
  candidates: Iterable<Candidate>,
  levels: readonly number[],
  mainsHertz: number | null,
): Rated | null {
  let top: Rated | null = null
  const rated: Rated[] = []
  for (const candidate of candidates) {
    const rating = rate(camera, candidate.exposures, levels)
    const next = { candidate, rating }
    if (mainsHertz !== null) rated.push(next)
    if (!top || exceeds(rating, top.rating)) top = next
    else if (!exceeds(top.rating, rating) && candidate.totalSeconds < top.candidate.totalSeconds) top = next
  }
  if (!top || mainsHertz === null) return top
  const { lostLevels, worstSnr } = top.rating
  let steadiest = top
  for (const r of rated) {
    if (r.rating.lostLevels > lostLevels || r.rating.worstSnr * FLICKER_SLACK < worstSnr) continue
    if (worstFlicker(r.candidate, mainsHertz) < worstFlicker(steadiest.candidate, mainsHertz) - 1e-6) steadiest = r
  }
  return steadiest
}

const worstFlicker = ({ exposures }: Candidate, mainsHertz: number): number =>
  Math.max(...exposures.map((e) => flickerLeft(e.seconds, mainsHertz)))

function designOf(
  wish: BracketWish,
  { candidate, rating }: Rated,
  levels: readonly number[],
  remarks: BracketRemark[],
): BracketDesign {
  const { camera, subject, mainsHertz } = wish
  const { exposures, pattern, brackets, totalSeconds } = candidate
  const middle = exposures[(exposures.length - 1) >> 1]!
  const longest = exposures.at(-1)!
  const stepStops = levels.length > 1 ? Math.log2(levels[1]! / levels[0]!) : 0
  // What a meter would set for the subject, at the same f-number and ISO.
  const metered = secondsFor(ev100OfLuminance(subject), middle.fNumber, middle.iso)
  const down = Math.log2(metered / Math.sqrt(exposures[0]!.seconds * longest.seconds))
  const held = longest.seconds * 2 ** (1 / 3) > Math.min(wish.hoverLimitSeconds, camera.longestSeconds)
  if (held && down >= 1 / 3) remarks.push({ code: 'centred-down', stops: down })
  if (brackets === 2) remarks.push({ code: 'two-brackets', offsetStops: candidate.offsetStops })
  if (rating.lostLevels > 0) remarks.push({ code: 'clipped-above', stops: rating.lostLevels * stepStops })
  if (rating.buriedLevels > 0) remarks.push({ code: 'buried-below', stops: rating.buriedLevels * stepStops })
  const shows = exposures.filter((e) => mainsHertz !== null && flickerLeft(e.seconds, mainsHertz) > FLICKER_SHOWS)
  if (mainsHertz !== null && shows.length > 0)
    remarks.push({ code: 'flicker', shuttersSeconds: shows.map((e) => nominalSeconds(e.seconds)), mainsHertz })
  return {
    exposures,
    shuttersSeconds: exposures.map((e) => nominalSeconds(e.seconds)),
    pattern,
    brackets,
    totalSeconds,
    worstSnr: rating.worstSnr,
    subjectSnr: mergedSnr(camera, exposures, subject),
    subjectSnrSingle: frameSnr(camera, middle, subject),
    middle,
    remarks,
  }
}
