import type { Course } from './evening.ts'
import { airCost, leastAir, PAIR_MINUTES, shortestBetween, wrongPairs } from './timetable.ts'
import { Wishes } from './wishes.ts'

/** What a beginning of an order comes to at least. Minutes. */
export interface Beginning {
  /** After the earliest take-off, when the last visit so far is over: at the earliest, and with batteries changed only when they must be. */
  readonly time: number
  readonly timeWithSwaps: number
  readonly air: number
  readonly airWithSwaps: number
  readonly pairs: number
  /** Of visits so far, those with a wanted moment. */
  readonly wished: number
  /** Of the battery in the aircraft; its own minutes so far. */
  readonly used: number
  readonly usable: number
  readonly batteries: number
}

export const nothingBegun: Beginning = {
  time: 0,
  timeWithSwaps: 0,
  air: 0,
  airWithSwaps: 0,
  pairs: 0,
  wished: 0,
  used: 0,
  usable: 0,
  batteries: 0,
}

/**
 * Lower bounds of what an order costs, from its beginning: branch and bound (Land, Doig 1960). A bound may be too low and never too high, so
 * that no order is ruled out wrongly. While all wishes so far are granted together there is no waiting, and it is known where
 * batteries are changed; after that only the shortest ways count.
 */
export class Bounds {
  private readonly course: Course
  /** Whether every viewpoint is to be visited: only then is it known what is still to come. */
  private readonly all: boolean
  private readonly wishes: Wishes
  private readonly withSwaps: Wishes
  private readonly byWish: readonly number[]
  private readonly leastTo: readonly number[]
  private readonly leastHome: number
  private readonly leastWay: number
  private readonly shortest: number

  constructor(course: Course, count: number) {
    const each = course.viewpoints.map((_, v) => v)
    const others = (v: number) => each.filter((u) => u !== v)
    this.course = course
    this.all = count === each.length
    this.wishes = new Wishes(each.length)
    this.withSwaps = new Wishes(each.length)
    this.byWish = each
      .filter((v) => !Number.isNaN(course.wish[v]!))
      .sort((a, b) => middle(course, a) - middle(course, b))
    this.leastTo = each.map((v) => Math.min(...others(v).map((u) => leastAir(course, u, v))))
    this.leastHome = Math.min(...course.homeward)
    this.leastWay = Math.min(...each.flatMap((v) => others(v).map((u) => shortestBetween(course, u, v))))
    this.shortest = Math.min(...course.minutes)
  }

  /** A beginning with one more visit; null when window or batteries rule it out. */
  begin(order: readonly number[], so: Beginning, v: number): Beginning | null {
    const { outbound, homeward, between, minutes, usable, wish, swapMinutes, windowMinutes } = this.course
    const u = order[order.length - 1]
    const [out, stay] = [outbound[v]!, minutes[v]!]
    const arrive = so.time + (u === undefined ? out : shortestBetween(this.course, u, v))
    if (arrive + stay > windowMinutes + 1e-9) return null
    const way = u === undefined ? Number.POSITIVE_INFINITY : between[u]![v]!
    const whole = Math.min(so.usable, usable[v]!)
    const swap = whole < so.used + way + stay + homeward[v]!
    const batteries = so.batteries + (swap ? 1 : 0)
    if (batteries > this.course.batteries) return null
    const home = u === undefined ? 0 : homeward[u]!
    const arriveWithSwaps = so.timeWithSwaps + (!swap ? way : u === undefined ? out : home + swapMinutes + out)
    const wished = Number.isNaN(wish[v]!) ? so.wished : so.wished + 1
    if (wished > so.wished) {
      this.wishes.add(so.wished, wish[v]! - arrive)
      this.withSwaps.add(so.wished, wish[v]! - arriveWithSwaps)
    }
    return {
      time: arrive + stay,
      timeWithSwaps: arriveWithSwaps + stay,
      air: so.air + stay + (u === undefined ? out : leastAir(this.course, u, v)),
      airWithSwaps: so.airWithSwaps + stay + (swap ? home + out : way),
      pairs: so.pairs + wrongPairs(this.course, order, order.length, v),
      wished,
      used: swap ? out + stay : so.used + way + stay,
      usable: swap ? usable[v]! : whole,
      batteries,
    }
  }

  /** What any order that begins so costs at least. `taken` holds 1 for the visits of the beginning. Call right after `begin`. */
  least(so: Beginning, taken: Uint8Array): number {
    const known = this.wishes.together(so.wished)
    const wishes = known ? this.withSwaps : this.wishes
    let air = known ? so.airWithSwaps : so.air
    let pairs = so.pairs
    let wished = so.wished
    if (this.all) {
      const { rank, minutes } = this.course
      for (let v = 0; v < taken.length; v++) {
        if (taken[v] === 1) continue
        air += minutes[v]! + this.leastTo[v]!
        // Whatever comes later and should have come earlier is out of order in any case.
        for (let u = 0; u < taken.length; u++) if (taken[u] === 1 && rank[u]! > rank[v]!) pairs++
      }
      air += this.leastHome
      wished = this.addRest(wishes, so.wished, known ? so.timeWithSwaps : so.time, taken)
    }
    return wishes.deviation(wished) + PAIR_MINUTES * pairs + airCost(air)
  }

  /**
   * The rest, as if all were as short as the shortest visit and as close as the closest two: then they are best taken in the order of
   * their moments (an exchange of two neighbours never gains), and they deviate no more than they really will.
   */
  private addRest(wishes: Wishes, count: number, time: number, taken: Uint8Array): number {
    let wished = count
    let at = time + this.leastWay + this.shortest / 2
    for (const v of this.byWish) {
      if (taken[v] === 1) continue
      wishes.add(wished++, middle(this.course, v) - at)
      at += this.shortest + this.leastWay
    }
    return wished
  }
}

/** The moment wanted, in minutes after the earliest take-off; NaN for any. */
const middle = (course: Course, v: number) => course.wish[v]! + course.minutes[v]! / 2
