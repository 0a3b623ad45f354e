import { Failure, type LeftOut } from '#core/base'
import { type Course, courseOf, type Evening, type Viewpoint } from './evening.ts'
import type { Facing } from './facing.ts'
import { tenth } from './range.ts'
import { bestByInsertion, bestOfEveryOrder, EVERY_ORDER } from './search.ts'
import type { Instant } from './sensing.ts'
import type { Timetable } from './timetable.ts'

export interface Visit {
  readonly name: string
  readonly facing: Facing
  readonly arriveAt: Instant
  readonly leaveAt: Instant
  /** At the latest, so that battery and reserve last home. */
  readonly leaveBy: Instant
  readonly wantedAt: Instant | null
  /** From the middle of the visit to the moment wanted; negative: too early. */
  readonly minutesOff: number | null
  /** Counted from 1. */
  readonly battery: number
  readonly returnMinutes: number
  /** Spent waiting in the air before this visit. */
  readonly waitMinutes: number
}

/** One battery: from take-off to landing. */
export interface Sortie {
  readonly battery: number
  readonly takeOffAt: Instant
  readonly landAt: Instant
  readonly minutes: number
  readonly usableMinutes: number
  readonly viewpoints: readonly string[]
}

export interface EveningOrder {
  readonly visits: readonly Visit[]
  readonly sorties: readonly Sortie[]
  readonly leftOut: readonly LeftOut[]
  /** `every-order`: no other order is better; `insertion`: there were too many for that. */
  readonly search: 'every-order' | 'insertion'
}

/** More viewpoints than this are no evening. */
const MOST_VIEWPOINTS = 40

/**
 * Orders viewpoints over a window: as many as fit; then with the least sum of minutes from the wanted moments, of three minutes for each pair
 * in the wrong order of light, and of a tenth of the minutes in the air (docs/science/flight.md). Batteries are changed at
 * home. What does not fit is left out with the reason. `too-many-viewpoints` (limit) above 40.
 */
export function orderViewpoints(viewpoints: readonly Viewpoint[], evening: Evening): EveningOrder {
  if (viewpoints.length > MOST_VIEWPOINTS)
    throw new Failure('limit', 'too-many-viewpoints', { found: viewpoints.length, limit: MOST_VIEWPOINTS })
  const { course, leftOut } = courseOf(viewpoints, evening)
  const every = course.viewpoints.length <= EVERY_ORDER
  const table = every ? mostThatFit(course) : bestByInsertion(course)
  const flown = new Set(table?.calls.map((c) => c.viewpoint))
  const missing = course.viewpoints.filter((_, v) => !flown.has(v))
  const reason = missing.length > 0 ? whyMissing(course, flown.size, every) : ''
  const facts = { windowMinutes: tenth(Math.max(course.windowMinutes, 0)), batteries: evening.batteries }
  return {
    visits: table ? visitsOf(course, table, evening.from) : [],
    sorties: table ? sortiesOf(course, table, evening.from) : [],
    leftOut: [...leftOut, ...missing.map((v) => ({ what: v.name, reason, facts }))],
    search: every ? 'every-order' : 'insertion',
  }
}

function mostThatFit(course: Course): Timetable | null {
  for (let count = course.viewpoints.length; count > 0; count--) {
    const found = bestOfEveryOrder(course, count)
    if (found) return found
  }
  return null
}

/** Would more fit with more batteries? Then it is the batteries, else the window. */
function whyMissing(course: Course, flown: number, every: boolean): string {
  if (course.batteries === Number.POSITIVE_INFINITY) return 'window-too-short'
  const plenty = { ...course, batteries: Number.POSITIVE_INFINITY }
  const found = every ? bestOfEveryOrder(plenty, flown + 1) : bestByInsertion(plenty)
  return (found?.calls.length ?? 0) > flown ? 'no-battery-left' : 'window-too-short'
}

const at = (from: Instant, minutes: number): Instant => from + minutes * 60_000

/** The fewest minutes that any viewpoint of a sortie allows its battery: the highest one, in the most wind. */
function usableOf(course: Course, table: Timetable, sortie: number): number {
  const own = table.calls.filter((c) => c.sortie === sortie).map((c) => course.usable[c.viewpoint]!)
  return Math.min(...own)
}

function visitsOf(course: Course, table: Timetable, from: Instant): Visit[] {
  return table.calls.map((call) => {
    const viewpoint = course.viewpoints[call.viewpoint]!
    const homeward = course.homeward[call.viewpoint]!
    const until = table.takeOffs[call.sortie]! + usableOf(course, table, call.sortie) - homeward
    const wish = course.wish[call.viewpoint]!
    return {
      name: viewpoint.name,
      facing: course.facing[call.viewpoint]!,
      arriveAt: at(from, call.arrive),
      leaveAt: at(from, call.leave),
      leaveBy: at(from, until),
      wantedAt: viewpoint.wantedAt,
      minutesOff: Number.isNaN(wish) ? null : call.arrive - wish,
      battery: call.sortie + 1,
      returnMinutes: homeward,
      waitMinutes: call.waited,
    }
  })
}

function sortiesOf(course: Course, table: Timetable, from: Instant): Sortie[] {
  return table.takeOffs.map((takeOff, sortie) => {
    const own = table.calls.filter((c) => c.sortie === sortie)
    const last = own[own.length - 1]!
    const land = last.leave + course.homeward[last.viewpoint]!
    return {
      battery: sortie + 1,
      takeOffAt: at(from, takeOff),
      landAt: at(from, land),
      minutes: land - takeOff,
      usableMinutes: usableOf(course, table, sortie),
      viewpoints: own.map((c) => course.viewpoints[c.viewpoint]!.name),
    }
  })
}
