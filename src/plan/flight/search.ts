import type { Course } from './evening.ts'
import { airCost, leastAir, PAIR_MINUTES, shortestBetween, type Timetable, timetableOf, wrongPairs } from './timetable.ts'
import { Wishes } from './wishes.ts'

/** Up to this many viewpoints every order is tried: 8! = 40,320. */
export const EVERY_ORDER = 8

/** What a beginning of an order comes to at least. Minutes. */
interface Beginning {
  /** After the earliest take-off, when the last visit so far is over. */
  readonly time: number
  readonly air: number
  readonly pairs: number
  /** Of visits so far, those with a wanted moment. */
  readonly wished: number
  /** Of the battery in the aircraft. */
  readonly used: number
  readonly batteries: number
}

/** The best timetable of any `count` of the viewpoints, over every order that its beginning does not rule out; null when none fits. */
export function bestOfEveryOrder(course: Course, count: number): Timetable | null {
  const order: number[] = []
  const taken = new Uint8Array(course.viewpoints.length)
  const wishes = new Wishes(count)
  // The likely order first: it makes a good measure to rule others out by.
  const likely = likelyOrder(course)
  let best: Timetable | null = null
  const grow = (so: Beginning) => {
    if (order.length === count) {
      const found = timetableOf(course, order)
      if (found && (best === null || found.cost < best.cost - 1e-9)) best = found
      return
    }
    for (const v of likely) {
      if (taken[v] === 1) continue
      const next = begun(course, order, so, v, wishes)
      if (next === null) continue
      const least = wishes.deviation(next.wished) + PAIR_MINUTES * next.pairs + airCost(next.air)
      if (best !== null && least >= best.cost - 1e-9) continue
      taken[v] = 1
      order.push(v)
      grow(next)
      order.pop()
      taken[v] = 0
    }
  }
  grow({ time: 0, air: 0, pairs: 0, wished: 0, used: 0, batteries: 0 })
  return best
}

/** A beginning with one more visit; null when window or batteries rule it out. Never more than what a timetable of it really comes to. */
function begun(course: Course, order: readonly number[], so: Beginning, v: number, wishes: Wishes): Beginning | null {
  const previous = order[order.length - 1]
  const minutes = course.minutes[v]!
  const first = previous === undefined
  const arrive = so.time + (first ? course.outbound[v]! : shortestBetween(course, previous, v))
  if (arrive + minutes > course.windowMinutes + 1e-9) return null
  // The fewest batteries: none is changed before it must be, and waiting costs nothing.
  let used = so.used + (first ? 0 : course.between[previous]![v]!) + minutes
  let batteries = so.batteries
  if (first || used + course.homeward[v]! > course.usable[v]! + 1e-9) {
    used = course.outbound[v]! + minutes
    batteries++
  }
  if (batteries > course.batteries) return null
  const wish = course.wish[v]!
  const wished = Number.isNaN(wish) ? so.wished : so.wished + 1
  if (wished > so.wished) wishes.add(so.wished, wish - arrive)
  return {
    time: arrive + minutes,
    air: so.air + minutes + (first ? course.outbound[v]! : leastAir(course, previous, v)),
    pairs: so.pairs + wrongPairs(course, order, order.length, v),
    wished,
    used,
    batteries,
  }
}

/**
 * For more viewpoints than every order can be tried: each in turn, the likely first, is put where it costs least, if it fits anywhere. Not
 * always the best order; the timetable it gives is a true one.
 */
export function bestByInsertion(course: Course): Timetable | null {
  let order: number[] = []
  let best: Timetable | null = null
  for (const v of likelyOrder(course)) {
    let better: { order: number[]; table: Timetable } | null = null
    for (let at = 0; at <= order.length; at++) {
      const tried = [...order.slice(0, at), v, ...order.slice(at)]
      const table = timetableOf(course, tried)
      if (table && (better === null || table.cost < better.table.cost)) better = { order: tried, table }
    }
    if (better === null) continue
    order = better.order
    best = better.table
  }
  return best
}

/** By light, then by the moment wanted, then as given. */
export function likelyOrder(course: Course): number[] {
  const wish = (v: number) => (Number.isNaN(course.wish[v]!) ? Number.NEGATIVE_INFINITY : course.wish[v]!)
  return course.viewpoints
    .map((_, v) => v)
    .sort((a, b) => course.rank[a]! - course.rank[b]! || Number(wish(a) > wish(b)) - Number(wish(a) < wish(b)) || a - b)
}
