import {
  type Aircraft,
  type Conditions,
  DEFAULT_RESERVE,
  type NoStay,
  type UsableMinutes,
  usableMinutes,
} from './battery.ts'
import type { Coordinates } from './geodesic.ts'
import { LANDING_MINUTES, legBetween, legHome, type Spot } from './legs.ts'

export interface StayPlan {
  readonly aircraft: Aircraft
  readonly conditions: Conditions
  readonly takeOff: Coordinates
  /** Where the aircraft flies on its own when it is told to come home; usually the take-off place. */
  readonly home: Coordinates
  readonly returnHeightMetres: number
  /** Ways out and between viewpoints are flown at least so high, to clear what the viewpoints alone would not; else as high as their higher end. */
  readonly transferHeightMetres?: number
  readonly reserve?: number
  readonly landingMinutes?: number
}

export interface Stay {
  readonly can: true
  readonly usable: UsableMinutes
  readonly outboundMinutes: number
  readonly returnMinutes: number
  /** What is left for the pictures, over zero. */
  readonly hoverMinutes: number
  /** Minutes after take-off at which the way home must begin. */
  readonly leaveAfterMinutes: number
}

export interface CannotStay {
  readonly can: false
  readonly why: NoStay
  /** What the way out and home needs and what the battery has, when both are known. */
  readonly neededMinutes: number | null
  readonly usableMinutes: number | null
}

/**
 * How long the aircraft can hang at one viewpoint on a whole battery: usable minutes − way out − way home. "Cannot" is a value: the wind
 * is as fast as the aircraft, or no way is made against it; it is colder than the curve knows; the ways alone eat the reserve.
 */
export function stayAt(spot: Spot, plan: StayPlan): Stay | CannotStay {
  const { aircraft, conditions, takeOff, home, returnHeightMetres } = plan
  const transfer = plan.transferHeightMetres ?? Number.NEGATIVE_INFINITY
  const top = Math.max(spot.heightMetres, returnHeightMetres, transfer)
  const usable = usableMinutes(aircraft, conditions, top, plan.reserve ?? DEFAULT_RESERVE)
  if (!usable.can) return { ...usable, neededMinutes: null, usableMinutes: null }
  const out = legBetween({ position: takeOff, heightMetres: 0 }, spot, aircraft, conditions, transfer)
  const back = legHome(spot, home, returnHeightMetres, aircraft, conditions, plan.landingMinutes ?? LANDING_MINUTES)
  if (out === null || back === null)
    return { can: false, why: 'no-way-against-wind', neededMinutes: null, usableMinutes: usable.minutes }
  const hoverMinutes = usable.minutes - out.minutes - back.minutes
  if (!(hoverMinutes > 0)) {
    const neededMinutes = out.minutes + back.minutes
    return { can: false, why: 'reserve-eaten', neededMinutes, usableMinutes: usable.minutes }
  }
  const { can: _, ...minutes } = usable
  return {
    can: true,
    usable: minutes,
    outboundMinutes: out.minutes,
    returnMinutes: back.minutes,
    hoverMinutes,
    leaveAfterMinutes: usable.minutes - back.minutes,
  }
}
