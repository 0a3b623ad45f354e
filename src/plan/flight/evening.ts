import type { LeftOut } from '#core/base'
import { type Facing, facingOf, facingOrder } from './facing.ts'
import { legBetween } from './legs.ts'
import { tenth, within } from './range.ts'
import type { Instant } from './sensing.ts'
import { type StayPlan, stayAt } from './stay.ts'
import { axesOf, type View } from './view.ts'

/** A view worth flying to, the minutes its pictures take, and the moment at which its light is best (null = any). */
export interface Viewpoint extends View {
  readonly name: string
  readonly minutes: number
  readonly wantedAt: Instant | null
}

export interface Evening {
  /** Earliest take-off; to ask "and ten minutes late?", give a later one. */
  readonly from: Instant
  /** The last viewpoint is left by then. */
  readonly until: Instant
  /** Where the sun went, for telling which viewpoints face the afterglow. */
  readonly sunAzimuthDegrees: number
  readonly stay: StayPlan
  /** Whole batteries at hand; null = as many as it takes. */
  readonly batteries: number | null
  /** From landing to the next take-off. */
  readonly swapMinutes: number
}

/** Everything an order is judged by, in minutes after `from`; index = number of the viewpoint among those that can be flown. */
export interface Course {
  readonly viewpoints: readonly Viewpoint[]
  readonly facing: readonly Facing[]
  readonly rank: readonly number[]
  readonly minutes: readonly number[]
  /** When to arrive so that the wanted moment is in the middle; NaN = any time. */
  readonly wish: readonly number[]
  readonly outbound: readonly number[]
  readonly homeward: readonly number[]
  readonly usable: readonly number[]
  /** From one viewpoint to another without landing; infinite when the wind forbids it. */
  readonly between: readonly (readonly number[])[]
  readonly windowMinutes: number
  readonly swapMinutes: number
  readonly batteries: number
}

/** Minutes for landing, changing the battery and taking off. An assumption. */
export const SWAP_MINUTES = 2

/** What can be flown at all, as tables; what cannot, with the reason. */
export function courseOf(
  viewpoints: readonly Viewpoint[],
  evening: Evening,
): { readonly course: Course; readonly leftOut: readonly LeftOut[] } {
  within('from', evening.from, -1e15, 1e15)
  within('until', evening.until, -1e15, 1e15)
  within('swapMinutes', evening.swapMinutes, 0, 1000)
  within('sunAzimuthDegrees', evening.sunAzimuthDegrees, -720, 720)
  if (evening.batteries !== null) within('batteries', evening.batteries, 0, 1000)
  const leftOut: LeftOut[] = []
  const flown = viewpoints.flatMap((viewpoint) => {
    axesOf(viewpoint)
    within('viewpointMinutes', viewpoint.minutes, 0, 1000)
    if (viewpoint.wantedAt !== null) within('wantedAt', viewpoint.wantedAt, -1e15, 1e15)
    const stay = stayAt(viewpoint, evening.stay)
    if (!stay.can) {
      const facts = { neededMinutes: tenth(stay.neededMinutes), usableMinutes: tenth(stay.usableMinutes) }
      leftOut.push({ what: viewpoint.name, reason: stay.why, facts })
      return []
    }
    if (stay.hoverMinutes < viewpoint.minutes) {
      const facts = { wantedMinutes: viewpoint.minutes, hoverMinutes: tenth(stay.hoverMinutes) }
      leftOut.push({ what: viewpoint.name, reason: 'battery-too-short', facts })
      return []
    }
    return [{ viewpoint, stay }]
  })
  const { aircraft, conditions, transferHeightMetres: transfer } = evening.stay
  const facing = flown.map(({ viewpoint }) => facingOf(viewpoint, evening.sunAzimuthDegrees))
  const course: Course = {
    viewpoints: flown.map((f) => f.viewpoint),
    facing,
    rank: facing.map((f) => facingOrder.indexOf(f)),
    minutes: flown.map((f) => f.viewpoint.minutes),
    wish: flown.map(({ viewpoint: v }) =>
      v.wantedAt === null ? Number.NaN : (v.wantedAt - evening.from) / 60_000 - v.minutes / 2,
    ),
    outbound: flown.map((f) => f.stay.outboundMinutes),
    homeward: flown.map((f) => f.stay.returnMinutes),
    usable: flown.map((f) => f.stay.usable.minutes),
    between: flown.map(({ viewpoint: a }) =>
      flown.map(
        ({ viewpoint: b }) => legBetween(a, b, aircraft, conditions, transfer)?.minutes ?? Number.POSITIVE_INFINITY,
      ),
    ),
    windowMinutes: (evening.until - evening.from) / 60_000,
    swapMinutes: evening.swapMinutes,
    batteries: evening.batteries ?? Number.POSITIVE_INFINITY,
  }
  return { course, leftOut }
}
