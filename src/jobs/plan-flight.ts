import type { LeftOut } from '#core/base'
import {
  type Coordinates,
  type EveningOrder,
  type LegProfile,
  legProfile,
  type NamedSpot,
  orderViewpoints,
  type ReturnHeight,
  returnHeight,
  type StayPlan,
  SWAP_MINUTES,
} from '#plan/flight'
import type { Instant } from '#plan/sky'
import { clearanceOf, type PlanFacts, type PlannedView, stayPlanOf } from './plan-facts.ts'

/** The flight of one set of viewpoints, in order. */
export interface Flight {
  readonly order: EveningOrder
  readonly stay: StayPlan
  readonly returnHeight: ReturnHeight
  /** Out, between and home, as flown. */
  readonly legs: readonly LegProfile[]
  readonly leftOut: readonly LeftOut[]
}

export interface Window {
  readonly from: Instant
  readonly until: Instant
  readonly sunAzimuthDegrees: number
  readonly batteries: number
}

const spotOf = (view: PlannedView): NamedSpot => ({
  name: view.stated.name,
  position: view.position,
  heightMetres: view.heightMetres,
})

const ground = (position: Coordinates, name: string): NamedSpot => ({ name, position, heightMetres: 0 })

/**
 * Which viewpoints can be flown in a window, in which order and on which battery. A viewpoint whose way home no height under
 * the ceiling clears is left out, with the reason. Ways between viewpoints that pass an obstacle too closely are flown at
 * the return height.
 */
export function flightOf(
  facts: PlanFacts,
  views: readonly PlannedView[],
  wishes: ReadonlyMap<PlannedView, Instant | null>,
  window: Window,
): Flight {
  const rules = clearanceOf(facts)
  const { home, obstacles } = facts
  const leftOut: LeftOut[] = []
  const reachable = views.filter((view) => {
    const own = returnHeight([view.position], home, obstacles, rules)
    if (own.can) return true
    const { over, neededMetres, ceilingMetres } = own
    const reasons = { obstacle: over.name, neededMetres: Math.round(neededMetres), ceilingMetres }
    leftOut.push({ what: view.stated.name, reason: 'no-way-under-ceiling', facts: reasons })
    return false
  })
  const height = returnHeight(
    reachable.map((v) => v.position),
    home,
    obstacles,
    rules,
  )
  const metres = height.can ? height.heightMetres : rules.ceilingMetres
  const flown = (transfer: number | null) => {
    const stay = stayPlanOf(facts, metres, transfer)
    const order = orderViewpoints(
      reachable.map((view) => ({
        ...view,
        name: view.stated.name,
        minutes: view.stated.minutes,
        wantedAt: wishes.get(view) ?? null,
      })),
      { ...window, stay, swapMinutes: SWAP_MINUTES },
    )
    return { stay, order, legs: legsOf(facts, reachable, order, metres, transfer) }
  }
  let flight = flown(null)
  if (flight.legs.some((leg) => leg.problem === 'obstacle-too-close')) flight = flown(metres)
  return { ...flight, returnHeight: height, leftOut: [...leftOut, ...flight.order.leftOut] }
}

/** Out to the first viewpoint of every battery, between its viewpoints, and home from each. */
function legsOf(
  facts: PlanFacts,
  views: readonly PlannedView[],
  order: EveningOrder,
  returnMetres: number,
  transfer: number | null,
): LegProfile[] {
  const rules = clearanceOf(facts)
  const named = new Map(views.map((v) => [v.stated.name, v]))
  const leg = (from: NamedSpot, to: NamedSpot, atLeast: number | null) =>
    legProfile(from, to, facts.obstacles, rules, atLeast ?? undefined)
  const legs: LegProfile[] = []
  for (const sortie of order.sorties) {
    let before = ground(facts.place, 'take-off')
    for (const name of sortie.viewpoints) {
      const here = spotOf(named.get(name)!)
      legs.push(leg(before, here, transfer), leg(here, ground(facts.home, 'home'), returnMetres))
      before = here
    }
  }
  return legs
}
