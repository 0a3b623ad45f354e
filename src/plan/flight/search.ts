import { type Beginning, Bounds, nothingBegun } from './bounds.ts'
import type { Course } from './evening.ts'
import { type Timetable, timetableOf } from './timetable.ts'

/** Up to this many viewpoints every order counts: 8! = 40,320, most of them ruled out by their beginnings. */
export const EVERY_ORDER = 8

/** Orders that would gain less than this, in minutes of cost, are not looked for. */
export const CLOSE_ENOUGH = 0.25

/** The best timetable (to a quarter of a minute) of any `count` of the viewpoints, over every order that its beginning does not rule out; null when none fits. */
export function bestOfEveryOrder(course: Course, count: number): Timetable | null {
  const order: number[] = []
  const taken = new Uint8Array(course.viewpoints.length)
  const bounds = new Bounds(course, count)
  // The likely order first: it makes a good measure to rule others out by.
  const likely = likelyOrder(course)
  let best: Timetable | null = null
  const grow = (so: Beginning) => {
    if (order.length === count) {
      const found = timetableOf(course, order)
      if (found && (best === null || found.cost < best.cost)) best = found
      return
    }
    for (const v of likely) {
      if (taken[v] === 1) continue
      const next = bounds.begin(order, so, v)
      if (next === null) continue
      taken[v] = 1
      if (best === null || bounds.least(next, taken) < best.cost - CLOSE_ENOUGH) {
        order.push(v)
        grow(next)
        order.pop()
      }
      taken[v] = 0
    }
  }
  grow(nothingBegun)
  return best
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
