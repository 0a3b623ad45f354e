import type { Facts } from '#core/base'
import type { LegProfile } from './clearance.ts'
import type { HomePointCheck } from './home-point.ts'
import { tenth, within } from './range.ts'
import type { ReturnHeight } from './return-height.ts'
import type { Instant, SensingBlind } from './sensing.ts'
import type { WindAloft } from './wind.ts'

/** Cautions for every flight in the dark, whatever the plan says. */
const always = [
  'local-rules',
  'line-of-sight',
  'anti-collision-light',
  'people-below',
  'recon-in-daylight',
  'eyes-to-the-dark',
  'return-climbs-first',
  'land-by-hand',
] as const

/** Cautions that a value of the plan calls for. */
const called = [
  'cannot-return',
  'obstacle-above-ceiling',
  'obstacle-too-close',
  'above-ceiling',
  'wind-over-limit',
  'gust-over-limit',
  'wind-limit-not-known',
  'gust-not-known',
  'obstacle-place-unknown',
  'no-obstacles-listed',
  'no-recon',
  'sensing-blind-from',
  'sensing-blind',
  'sensing-light-not-known',
  'cold-battery',
  'over-water',
  'home-away-from-take-off',
  'landing-place-unlit',
] as const

/** Every caution there is, the gravest first. Sentences are made at the edge. */
export const cautionCodes = [...called, ...always] as const
export type CautionCode = (typeof cautionCodes)[number]

export interface Caution {
  readonly code: CautionCode
  /** `stop`: as planned it does not work. `watch`: mind it. `always`: for every flight in the dark. */
  readonly weight: 'stop' | 'watch' | 'always'
  readonly facts: Facts
}

/** Figures as a sentence wants them. */
const rounded = (facts: Facts): Facts =>
  Object.fromEntries(Object.entries(facts).map(([k, v]) => [k, typeof v === 'number' ? tenth(v) : v]))

/** What of a plan cautions are chosen from; null = not known. */
export interface CautionInput {
  readonly temperatureCelsius: number
  /** At the greatest height of the flight. */
  readonly wind: WindAloft
  readonly windLimitMetresPerSecond: number | null
  readonly returnHeight: ReturnHeight
  readonly legs: readonly LegProfile[]
  readonly cannotReturn: readonly { readonly name: string; readonly why: string; readonly facts?: Facts }[]
  readonly sensing: SensingBlind
  readonly home: HomePointCheck
  readonly farthestMetres: number
  readonly highestMetres: number
  readonly obstacles: number
  readonly reconDone: boolean
  readonly overWater: boolean
  /** The moment as the clock at the place shows it, HH:MM. */
  readonly clock: (at: Instant) => string
}

/** Below this many °C the battery is warmed and its minutes watched. Common practice. */
export const COLD_CELSIUS = 10

/** The cautions of a plan, the gravest first. They never say that a flight is allowed, or that nothing can happen. */
export function cautionsOf(input: CautionInput): Caution[] {
  const { returnHeight, wind, sensing, home, windLimitMetresPerSecond: limit } = input
  within('temperatureCelsius', input.temperatureCelsius, -90, 70)
  const found: Caution[] = []
  const stop = (code: CautionCode, facts: Facts = {}) => found.push({ code, weight: 'stop', facts: rounded(facts) })
  const watch = (code: CautionCode, facts: Facts = {}) => found.push({ code, weight: 'watch', facts: rounded(facts) })

  for (const { name, why, facts } of input.cannotReturn) stop('cannot-return', { ...facts, viewpoint: name, why })
  if (!returnHeight.can) {
    const { over, neededMetres, ceilingMetres } = returnHeight
    stop('obstacle-above-ceiling', { obstacle: over.name, neededMetres, ceilingMetres })
  }
  for (const leg of input.legs) {
    const near = leg.obstacles.find((o) => o.clearanceMetres === leg.leastClearanceMetres)
    const names = { from: leg.fromName, to: leg.toName }
    if (leg.problem === 'obstacle-too-close' && near)
      stop('obstacle-too-close', { ...names, obstacle: near.obstacle.name, clearanceMetres: near.clearanceMetres })
    if (leg.cruiseHeightMetres > leg.ceilingMetres)
      stop('above-ceiling', { ...names, heightMetres: leg.cruiseHeightMetres, ceilingMetres: leg.ceilingMetres })
    for (const o of leg.obstacles)
      if (o.obstacle.position === null) watch('obstacle-place-unknown', { obstacle: o.obstacle.name })
  }
  const gust = wind.gustMetresPerSecond
  const speed = wind.speedMetresPerSecond
  if (limit === null) watch('wind-limit-not-known', { windMetresPerSecond: speed })
  else if (speed > limit) stop('wind-over-limit', { windMetresPerSecond: speed, limitMetresPerSecond: limit })
  else if (gust !== null && gust > limit)
    stop('gust-over-limit', { gustMetresPerSecond: gust, limitMetresPerSecond: limit })
  if (gust === null) watch('gust-not-known')
  if (input.obstacles === 0) watch('no-obstacles-listed')
  if (!input.reconDone) watch('no-recon')
  const lux = { thresholdLux: sensing.thresholdLux }
  if (sensing.from !== null) watch('sensing-blind-from', { ...lux, time: input.clock(sensing.from) })
  else if (sensing.why === 'blind-all-along') watch('sensing-blind', lux)
  else if (sensing.why === 'light-not-known') watch('sensing-light-not-known', lux)
  if (input.temperatureCelsius < COLD_CELSIUS) watch('cold-battery', { temperatureCelsius: input.temperatureCelsius })
  if (input.overWater) watch('over-water')
  if (home.found === 'away-from-take-off')
    watch('home-away-from-take-off', { distanceMetres: home.distanceMetres, accuracyMetres: home.accuracyMetres })
  if (home.lit === false) watch('landing-place-unlit')

  const height: Facts = returnHeight.can ? { returnHeightMetres: returnHeight.heightMetres } : {}
  const own: Partial<Record<CautionCode, Facts>> = {
    'line-of-sight': { farthestMetres: input.farthestMetres, highestMetres: input.highestMetres },
    'return-climbs-first': height,
  }
  for (const code of always) found.push({ code, weight: 'always', facts: rounded(own[code] ?? {}) })
  return once(found).sort((a, b) => cautionCodes.indexOf(a.code) - cautionCodes.indexOf(b.code))
}

/** A caution with the same facts is said once. */
function once(all: readonly Caution[]): Caution[] {
  const said = new Map(all.map((c) => [`${c.code} ${JSON.stringify(c.facts)}`, c]))
  return [...said.values()]
}
