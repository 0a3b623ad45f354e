import type { LeftOut } from '#core/base'
import type { OutingDocument, PlanDocument, PlanViewpoint } from '#jobs/schemas'
import { ev100Of, type Subject } from '#plan/exposure'
import {
  bodyInFrame,
  cautionsOf,
  checkHomePoint,
  citedRules,
  facingOf,
  footprintOf,
  offsetOf,
  SENSING_LUX,
  sensingBlindFrom,
  stayAt,
  type Visit,
  wayBetween,
  windAt,
} from '#plan/flight'
import { type Evening, type Instant, instantOf, localIso, parseDate, utcIso } from '#plan/sky'
import { sentenceForCaution } from './contract/index.ts'
import { balanceEntry, basisOf, eveningFor, eventEntries, type LightWish, moonEntry, sensingEntry } from './light.ts'
import { type PlanFacts, type PlannedView, planFacts } from './plan-facts.ts'
import { type Flight, flightOf } from './plan-flight.ts'
import { hoverLimitAt, planPicture, subjectMetres } from './plan-picture.ts'

const MINUTE = 60_000
const round = (value: number, digits: number) => Number(value.toFixed(digits))
/** From take-off to the first balance, and after the last: what an evening of balances needs around it. */
const BEFORE = 15 * MINUTE
const AFTER = 15 * MINUTE
/** A set after dark takes at most so long. */
const DARK_WINDOW = 60 * MINUTE
/** With no balance to aim at: the first hour after sunset. */
const NO_BALANCE = 60 * MINUTE
const LATE = 10 * MINUTE

/** Where an outing and its products lie, as the document says them. */
export interface PlanPaths {
  readonly outing: string
  readonly card: string
}

/**
 * The plan of one evening, from what the outing states. A pure function of it.
 * @throws Failure usage: a place, date, zone or camera that is none, or facts that a plan cannot do without
 */
export function planEvening(outing: OutingDocument, paths: PlanPaths): PlanDocument {
  const facts = planFacts(outing, paths.outing)
  const wish = lightWishOf(facts)
  const evening = eveningFor(wish)
  const balances = new Map(facts.views.map((v) => [v, balanceOfView(evening, v)]))
  const dusk = flightOf(facts, facts.views, wishesOf(balances), duskWindow(facts, evening, balances))
  const darkViews = facts.views.filter((v) => v.stated.afterDark)
  const dark = darkViews.length === 0 ? null : darkFlight(facts, evening, darkViews, dusk)
  const viewpoints = [
    ...dusk.order.visits.map((v) => viewpointEntry(facts, evening, dusk, v, 'dusk', 0, balances)),
    ...(dark?.order.visits ?? []).map((v) =>
      viewpointEntry(facts, evening, dark!, v, 'dark', dusk.order.sorties.length, balances),
    ),
  ]
  const leftOut = [...facts.leftOut, ...dusk.leftOut, ...(dark?.leftOut ?? []).map(inTheDark)]
  if (outing.viewpoints.length === 0) leftOut.push({ what: 'the flight', reason: 'no-viewpoints', facts: {} })
  const clock = (at: Instant) => localIso(at, evening.zone)
  const first = dusk.order.sorties[0]
  const last = (dark?.order.sorties ?? []).at(-1) ?? dusk.order.sorties.at(-1)
  return {
    schema: 'plan/1',
    outing: paths.outing,
    title: outing.title,
    date: outing.date,
    place: { ...facts.place, timeZone: evening.zone },
    siteName: outing.site.name,
    home: { latitude: facts.home.latitude, longitude: facts.home.longitude },
    events: eventEntries(evening),
    balance: subjectsOf(facts).map((s) => balanceEntry(evening, s, null)),
    strip: stripOf(evening),
    upByLocal: first ? clock(first.takeOffAt) : null,
    homeByLocal: last ? clock(last.takeOffAt + last.usableMinutes * MINUTE) : null,
    sensing: sensingEntry(evening, facts.aircraft.sensingLux),
    moon: moonEntry(evening),
    hoverLimitEv100: darkestHeld(facts),
    viewpoints,
    returnHeightMetres:
      dusk.returnHeight.can && viewpoints.length > 0 ? Math.ceil(dusk.returnHeight.heightMetres) : null,
    returnReason: returnReason(dusk, viewpoints.length),
    ceilingMetres: outing.site.ceilingMetres,
    clearanceMetres: outing.intent.clearanceMetres,
    windAloftMetresPerSecond: round(windAloft(facts).speedMetresPerSecond, 1),
    batteries: dusk.order.sorties.length + (dark?.order.sorties.length ?? 0),
    reservePercent: outing.intent.reservePercent,
    cardBytes: viewpoints.reduce((sum, v) => sum + v.cardBytes, 0),
    cautions: cautions(facts, evening, [dusk, ...(dark ? [dark] : [])], leftOut),
    rules: citedRules.map(({ where, what, source, asOf }) => ({ where, what, source, asOf })),
    basis: [...basisOf(wish), ...planBasis(facts)],
    card: paths.card,
    leftOut: leftOut.map((l) => ({ ...l, facts: { ...l.facts } })),
  }
}

/** The light that a plan asks for. */
export const lightWishOf = ({ outing, place, aircraft }: PlanFacts): LightWish => ({
  ...place,
  timeZone: outing.site.timeZone,
  date: outing.date,
  cloud: outing.weather.cloud,
  skyglowMagnitudes: outing.site.skyglowMagnitudes,
  eyeMetres: 0,
  sensingLux: aircraft.sensingLux,
})

type Balances = ReadonlyMap<PlannedView, PlanDocument['balance'][number]>

/** The subject of a view with the level that holds at this site. */
const subjectOf = (view: PlannedView): Subject => ({
  ...view.subject,
  lowEv100: view.subjectEv100,
  highEv100: view.subjectEv100,
})

const balanceOfView = (evening: Evening, view: PlannedView) =>
  balanceEntry(evening, subjectOf(view), view.headingDegrees)

/** Straight down there is no sky to balance with: such a picture can be taken at any time, and comes last. */
const looksDown = (view: PlannedView) => facingOf(view, 0) === 'down'

const wishesOf = (balances: Balances): Map<PlannedView, Instant | null> =>
  new Map([...balances].map(([view, b]) => [view, b.utc === null || looksDown(view) ? null : Date.parse(b.utc)]))

const subjectsOf = ({ views }: PlanFacts): Subject[] => [
  ...new Map(views.map((v) => [v.subject.id, subjectOf(v)])).values(),
]

function duskWindow({ outing, aircraft }: PlanFacts, evening: Evening, balances: Balances) {
  const moments = [...wishesOf(balances).values()].filter((at) => at !== null)
  const sunset = evening.events.find((e) => e.name === 'sunset')?.at ?? null
  const start = sunset ?? evening.from
  const stated = outing.intent.notBefore
  const [hour, minute] = (stated ?? '0:0').split(':').map(Number) as [number, number]
  const earliest = moments.length > 0 ? Math.min(...moments) - BEFORE : start
  const latest = moments.length > 0 ? Math.max(...moments) + AFTER : start + NO_BALANCE
  const from = stated === null ? earliest : instantOf(parseDate(outing.date), hour, minute, evening.zone)
  return {
    from,
    // Room for every viewpoint's minutes; what is too dark by then says so itself.
    until: Math.max(latest, from + 1),
    sunAzimuthDegrees: evening.momentAt(Math.min(Math.max(start, evening.from), evening.to)).sun.azimuth,
    batteries: aircraft.batteries,
  }
}

/** After nautical dusk, on the batteries that are left. */
function darkFlight(facts: PlanFacts, evening: Evening, views: readonly PlannedView[], dusk: Flight): Flight {
  const night = evening.events.find((e) => e.name === 'nautical-dusk')?.at ?? evening.to
  const landed = dusk.order.sorties.at(-1)?.landAt ?? night
  const from = Math.max(night, landed + 5 * MINUTE)
  return flightOf(facts, views, new Map(), {
    from,
    until: from + DARK_WINDOW,
    sunAzimuthDegrees: evening.momentAt(Math.min(from, evening.to)).sun.azimuth,
    batteries: Math.max(0, facts.aircraft.batteries - dusk.order.sorties.length),
  })
}

const inTheDark = (l: LeftOut): LeftOut => ({ ...l, what: `${l.what}, after dark` })

function viewpointEntry(
  facts: PlanFacts,
  evening: Evening,
  flight: Flight,
  visit: Visit,
  set: 'dusk' | 'dark',
  batteriesBefore: number,
  balances: Balances,
): PlanViewpoint {
  const view = facts.views.find((v) => v.stated.name === visit.name)!
  const clock = (at: Instant) => localIso(at, evening.zone)
  const middle = (visit.arriveAt + visit.leaveAt) / 2
  const picture = planPicture(view, facts, evening, middle)
  const late = planPicture(view, facts, evening, middle + LATE)
  const away = offsetOf(facts.home, view.position)
  return {
    ...picture,
    name: visit.name,
    set,
    arriveUtc: utcIso(visit.arriveAt),
    arriveLocal: clock(visit.arriveAt),
    leaveByUtc: utcIso(visit.leaveBy),
    leaveByLocal: clock(visit.leaveBy),
    never: null,
    minutes: view.stated.minutes,
    battery: visit.battery + batteriesBefore,
    batteryMinutes: round((visit.leaveBy - visit.arriveAt) / MINUTE, 1),
    leaveWithPercent: percentAt(facts, flight, view, visit),
    heightMetres: view.heightMetres,
    headingDegrees: view.headingDegrees,
    tiltDegrees: view.tiltDegrees,
    subject: view.subject.id,
    subjectEv100: view.subjectEv100,
    balanceLocal: set === 'dusk' && !looksDown(view) ? balances.get(view)!.local : null,
    framing: framingOf(facts, evening, view, middle),
    eastMetres: round(away.eastMetres, 1),
    northMetres: round(away.northMetres, 1),
    wayHome: wayHome(facts, flight, view, visit),
    tenMinutesLate: {
      settings: late.settings,
      stopsDarker: round(picture.skyEv100 - late.skyEv100, 1),
      remarks: late.remarks,
    },
  }
}

/** Charge that must be left when the way home begins: the reserve, and what the way takes. */
function percentAt(facts: PlanFacts, { stay }: Flight, view: PlannedView, visit: Visit): number | null {
  const found = stayAt(view, stay)
  if (!found.can) return null
  const reserve = facts.outing.intent.reservePercent
  const whole = found.usable.minutes / (1 - reserve / 100)
  return round(reserve + (100 * visit.returnMinutes) / whole, 1)
}

function framingOf(facts: PlanFacts, evening: Evening, view: PlannedView, at: Instant): PlanViewpoint['framing'] {
  const { lens, home } = facts
  const foot = footprintOf(view, lens)
  const metres = subjectMetres(view, facts)
  const { sun, moon } = evening.momentAt(Math.min(Math.max(at, evening.from), evening.to))
  const where = (body: { altitude: number; azimuth: number }): string => {
    if (body.altitude < -1) return 'below the horizon'
    const seen = bodyInFrame({ azimuthDegrees: body.azimuth, altitudeDegrees: body.altitude }, view, lens)
    if (seen.inFrame) return 'in the frame'
    return `${Math.round(seen.outsideDegrees)}° outside the frame, ${seen.rightOfHeadingDegrees < 0 ? 'left' : 'right'}`
  }
  return {
    fieldDegrees: { horizontal: round(lens.fieldAcrossDegrees, 1), vertical: round(lens.fieldDownDegrees, 1) },
    subjectMetres: round(metres, 1),
    pixelsPerMetre: round(lens.focalPixels / metres, 1),
    widthMetres: round((metres * lens.widthPixels) / lens.focalPixels, 1),
    sun: where(sun),
    moon: where(moon),
    footprint: foot.corners.map((corner) => {
      if (corner === null) return null
      const { eastMetres, northMetres } = offsetOf(home, corner.coordinates)
      return { eastMetres: round(eastMetres, 1), northMetres: round(northMetres, 1) }
    }),
  }
}

function wayHome(facts: PlanFacts, flight: Flight, view: PlannedView, visit: Visit): PlanViewpoint['wayHome'] {
  const leg = flight.legs.find((l) => l.fromName === view.stated.name && l.toName === 'home')
  return {
    metres: round(wayBetween(view.position, facts.home).distanceMetres, 1),
    seconds: Math.round(60 * visit.returnMinutes),
    obstacles: (leg?.obstacles ?? []).map((o) => ({
      name: o.obstacle.name,
      alongMetres: o.alongMetres === null ? null : round(leg!.lengthMetres - o.alongMetres, 1),
      heightMetres: round(o.topMetres, 1),
      clearMetres: round(o.clearanceMetres, 1),
    })),
  }
}

const stripOf = ({ minutes, zone }: Evening): PlanDocument['strip'] =>
  minutes.map((m) => ({ utc: utcIso(m.at), local: localIso(m.at, zone), ...levelsOf(m) }))

const levelsOf = ({ lux, skyLuminance }: Evening['minutes'][number]) => ({
  skyEv100: round(Math.log2(8 * skyLuminance), 2),
  groundEv100: round(Math.log2(lux / 2.5), 2),
  lux: Number(lux.toPrecision(4)),
})

/** The level that the longest steady shutter still exposes for, at the lens's widest and the highest ISO. */
function darkestHeld(facts: PlanFacts): number | null {
  if (facts.views.length === 0) return null
  const limits = facts.views.map((v) => Math.min(hoverLimitAt(v, facts), facts.camera.longestSeconds))
  const fNumber = Math.min(...facts.camera.fNumbers)
  return round(ev100Of({ fNumber, seconds: Math.max(...limits), iso: Math.max(...facts.camera.isos) }), 2)
}

function returnReason({ returnHeight: height }: Flight, viewpoints: number): string | null {
  if (!height.can) return `none: ${height.over.name} stands too high`
  return viewpoints === 0 ? 'none: nothing is flown' : null
}

const highest = ({ views }: PlanFacts) => Math.max(10, ...views.map((v) => v.heightMetres))
const windAloft = (facts: PlanFacts) =>
  windAt(
    {
      speedMetresPerSecond: facts.outing.weather.windMetresPerSecond,
      gustMetresPerSecond: facts.outing.weather.gustMetresPerSecond,
      fromDegrees: facts.outing.weather.windFromDegrees,
      measuredAtMetres: 10,
    },
    facts.outing.site.terrain,
    highest(facts),
  )

/** Reasons for which an aircraft does not come home on one battery. */
const NO_RETURN = new Set(['wind-over-airspeed', 'colder-than-curve', 'reserve-eaten', 'no-way-against-wind'])

function cautions(
  facts: PlanFacts,
  evening: Evening,
  flights: readonly Flight[],
  leftOut: readonly LeftOut[],
): string[] {
  const { outing, aircraft, home, place, obstacles } = facts
  const farthest = Math.max(0, ...facts.views.map((v) => wayBetween(v.position, home).distanceMetres))
  const found = cautionsOf({
    temperatureCelsius: outing.weather.temperatureCelsius,
    wind: windAloft(facts),
    windLimitMetresPerSecond: aircraft.windLimitMetresPerSecond,
    returnHeight: flights[0]!.returnHeight,
    legs: flights.flatMap((f) => f.legs),
    cannotReturn: leftOut
      .filter((l) => NO_RETURN.has(l.reason))
      .map((l) => ({ name: l.what, why: l.reason, facts: l.facts })),
    sensing: sensingBlindFrom(evening.minutes, aircraft.sensingLux || SENSING_LUX),
    home: checkHomePoint(home, place, null, outing.site.home?.accuracyMetres),
    farthestMetres: farthest,
    highestMetres: highest(facts),
    obstacles: obstacles.length,
    reconDone: obstacles.some((o) => o.source.startsWith('recon')),
    overWater: outing.site.terrain === 'water',
    clock: (at) => localIso(at, evening.zone).slice(11, 16),
  })
  // Nothing is flown: then there is no return height to set.
  const flown = flights.some((f) => f.order.visits.length > 0)
  return found.map((c) => sentenceForCaution(c.code, flown || c.code !== 'return-climbs-first' ? c.facts : {}))
}

const planBasis = ({ aircraft, outing }: PlanFacts): string[] => [
  'Settings: the bracket with the least worst-case noise that this camera can take within the hover limit and the time for a bracket (docs/science/exposure.md).',
  `Hover: drift ${aircraft.driftMetresPerSecond} m/s and turning ${aircraft.wanderDegreesPerSecond} °/s, ${aircraft.learnt ? 'learnt from frames of this aircraft' : 'assumed until they are learnt from frames'}; smear of ${outing.intent.blurPixels} px allowed.`,
  'Battery: rated minutes × temperature × wind × (1 − reserve), less climb, ways and landing; curves are common practice, not measured (docs/science/flight.md).',
  'Heights are above take-off. The ground is taken as level; obstacles are those of outing.json and no others.',
]
