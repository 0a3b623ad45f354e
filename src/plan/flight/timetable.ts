import type { Course } from './evening.ts'
import { Wishes } from './wishes.ts'

/** One visit in minutes after the earliest take-off. */
export interface Call {
  readonly viewpoint: number
  readonly sortie: number
  readonly arrive: number
  readonly leave: number
  /** Hung about before it, with the same battery, for the light. */
  readonly waited: number
}

export interface Timetable {
  readonly calls: readonly Call[]
  /** Take-off of each sortie: one battery each. */
  readonly takeOffs: readonly number[]
  readonly cost: number
}

/**
 * A pair of viewpoints in the wrong order of light (looking down before the afterglow) counts like this many minutes off. An
 * assumption: small, because a wanted moment already knows where its view looks.
 */
export const PAIR_MINUTES = 3

/** A longer wait than this for the light is spent on the ground, if there is a battery to go on with. An assumption. */
const LONG_WAIT_MINUTES = 8

/** A minute in the air counts a tenth of a minute off the wanted moment: it decides between orders that are alike otherwise. */
const AIR_WEIGHT = 0.1

/** Pairs in the wrong order when `next` is put after `order[0..count)`. */
export function wrongPairs(course: Course, order: ArrayLike<number>, count: number, next: number): number {
  let wrong = 0
  for (let i = 0; i < count; i++) if (course.rank[order[i]!]! > course.rank[next]!) wrong++
  return wrong
}

/** The shortest time from leaving one viewpoint to arriving at another: straight, or over home and a fresh battery. */
export function shortestBetween(course: Course, a: number, b: number): number {
  return Math.min(course.between[a]![b]!, course.homeward[a]! + course.swapMinutes + course.outbound[b]!)
}

/** The least time in the air between leaving one viewpoint and arriving at another. */
export function leastAir(course: Course, a: number, b: number): number {
  return Math.min(course.between[a]![b]!, course.homeward[a]! + course.outbound[b]!)
}

/**
 * The timetable of an order: arrivals as near to the wanted moments as ways and batteries allow. Between two viewpoints the aircraft flies
 * straight when its battery holds for that visit and the way home, waits there if there is time and battery, and goes home for
 * the next battery when it must, or when the wait is long enough for it. Null when it does not fit into the window or batteries.
 */
export function timetableOf(course: Course, order: readonly number[]): Timetable | null {
  const first = fly(course, order, grantedArrivals(course, order, null))
  if (first === null) return fly(course, order, null)
  if (first.takeOffs.length === 1) return first
  // Now that it is known where batteries are changed, the moments are shared out anew.
  const second = fly(course, order, grantedArrivals(course, order, first))
  return second !== null && second.cost < first.cost ? second : first
}

/** When to be at each, if ways were all that counted. A visit for which any time will do comes straight after the one before it. */
function grantedArrivals(course: Course, order: readonly number[], flown: Timetable | null): number[] {
  const wishes = new Wishes(order.length)
  const before: number[] = []
  const wishOf: number[] = []
  let time = 0
  let wished = 0
  order.forEach((v, k) => {
    const previous = order[k - 1]
    const swapped = flown !== null && k > 0 && flown.calls[k]!.sortie > flown.calls[k - 1]!.sortie
    if (previous === undefined) time += course.outbound[v]!
    else if (swapped) time += course.homeward[previous]! + course.swapMinutes + course.outbound[v]!
    else time += shortestBetween(course, previous, v)
    before.push(time)
    if (!Number.isNaN(course.wish[v]!)) wishes.add(wished++, course.wish[v]! - time)
    // The first ones, before any wish, go with the first wish.
    wishOf.push(Math.max(wished - 1, 0))
    time += course.minutes[v]!
  })
  const latest = Math.max(course.windowMinutes - time, 0)
  const granted = wishes.granted(wished)
  return before.map((b, k) => Math.min(Math.max(granted[wishOf[k]!] ?? 0, 0), latest) + b)
}

/** With `wanted` null: back to back from the earliest take-off. */
function fly(course: Course, order: readonly number[], wanted: readonly number[] | null): Timetable | null {
  const { minutes, outbound, homeward, usable, between, batteries, windowMinutes } = course
  const calls: Call[] = []
  const takeOffs: number[] = []
  let air = 0
  let used = 0
  let battery = 0
  let cost = 0
  let leave = 0
  for (let k = 0; k < order.length; k++) {
    const v = order[k]!
    const u = order[k - 1]
    const wish = wanted?.[k] ?? 0
    let arrive: number
    let waited = 0
    const way = u === undefined ? Number.POSITIVE_INFINITY : between[u]![v]!
    const whole = Math.min(battery, usable[v]!)
    const spare = whole - (used + way + minutes[v]! + homeward[v]!)
    const overHome = u === undefined ? outbound[v]! : leave + homeward[u]! + course.swapMinutes + outbound[v]!
    const wait = wish - (leave + way)
    const timeForHome = wish >= overHome && (wait > spare || wait > LONG_WAIT_MINUTES)
    if (takeOffs.length < batteries && (spare < 0 || timeForHome)) {
      arrive = Math.max(overHome, wish)
      if (u !== undefined) air += homeward[u]!
      takeOffs.push(arrive - outbound[v]!)
      used = outbound[v]!
      battery = usable[v]!
      air += outbound[v]!
    } else if (spare >= 0) {
      waited = Math.min(Math.max(wait, 0), spare)
      arrive = leave + way + waited
      used += way + waited
      battery = whole
      air += way + waited
    } else return null
    used += minutes[v]!
    air += minutes[v]!
    leave = arrive + minutes[v]!
    // A microsecond of rounding is no reason to miss a picture.
    if (leave > windowMinutes + 1e-9) return null
    calls.push({ viewpoint: v, sortie: takeOffs.length - 1, arrive, leave, waited })
    if (!Number.isNaN(course.wish[v]!)) cost += Math.abs(arrive - course.wish[v]!)
    cost += PAIR_MINUTES * wrongPairs(course, order, k, v)
  }
  const lastOne = order[order.length - 1]
  if (lastOne !== undefined) air += homeward[lastOne]!
  return { calls, takeOffs, cost: cost + AIR_WEIGHT * air }
}

/** What the minutes in the air of a beginning cost at least. */
export const airCost = (minutes: number): number => AIR_WEIGHT * minutes
