import type { DeskState, PrintSettings } from '#jobs/contract'

/**
 * The tone ladder as the hand holds it: five rungs from a stop of the scene to a zone of the print. What is between them,
 * and the ends, is the print's own curve, carried along.
 */
export const rungNames = ['black', 'ground', 'middle', 'lit', 'lamps'] as const
export type RungName = (typeof rungNames)[number]

export interface LadderRung {
  readonly name: RungName
  /** log2 of radiance, 0 = saturation of the reference frame. */
  readonly sceneStops: number
  /** 0 black … 10 paper white. */
  readonly zone: number
}

/** Neighbours stay so far apart. */
const LEAST_STOPS = 0.3
const LEAST_ZONES = 0.05
const clamp = (v: number, low: number, high: number) => Math.min(high, Math.max(low, v))

/** Stops of the scene as the print's curve counts them: from its anchor, range already taken in. */
const onCurve = (sceneStops: number, { anchorStops, baseCompression }: PrintSettings) =>
  (sceneStops - anchorStops) * (1 - baseCompression)

/** Value at x of the broken line through points in ascending order; its ends go on level. */
function between(points: readonly (readonly [x: number, y: number])[], x: number): number {
  const first = points[0]!
  const last = points.at(-1)!
  if (x <= first[0]) return first[1]
  if (x >= last[0]) return last[1]
  const at = points.findIndex((p) => p[0] >= x)
  const [a, b] = [points[at - 1]!, points[at]!]
  return b[0] === a[0] ? b[1] : a[1] + ((x - a[0]) / (b[0] - a[0])) * (b[1] - a[1])
}

/** Zone in which an evenly lit part of the scene prints. */
export const zoneOf = (settings: PrintSettings, sceneStops: number): number =>
  between(
    settings.rungs.map((r) => [r.sceneStops, r.zone] as const),
    onCurve(sceneStops, settings),
  )

/** Where the rungs stand on the scene's side: its own darkest, quarters, lights and lamps. */
export function sceneOf({ statistics: s }: Pick<DeskState, 'statistics'>): readonly number[] {
  const stated = [s['p005'], s['p25'], s['p50'], s['p98'], Math.max(s['peak'] ?? 0, s['p999'] ?? 0)]
  const placed: number[] = []
  for (const stops of stated)
    placed.push(Math.max(stops ?? 0, (placed.at(-1) ?? Number.NEGATIVE_INFINITY) + 2 * LEAST_STOPS))
  return placed
}

export const rungsOf = (settings: PrintSettings, scene: readonly number[]): LadderRung[] =>
  rungNames.map((name, i) => ({ name, sceneStops: scene[i]!, zone: zoneOf(settings, scene[i]!) }))

/** One rung moved, held between its neighbours. */
export function withRung(
  rungs: readonly LadderRung[],
  index: number,
  to: Partial<Pick<LadderRung, 'sceneStops' | 'zone'>>,
): LadderRung[] {
  const below = rungs[index - 1]
  const above = rungs[index + 1]
  return rungs.map((rung, i) => {
    if (i !== index) return rung
    const low = below ? below.sceneStops + LEAST_STOPS : rung.sceneStops - 12
    const high = above ? above.sceneStops - LEAST_STOPS : rung.sceneStops + 12
    const dark = below ? Math.min(10, below.zone + LEAST_ZONES) : 0
    const light = above ? Math.max(0, above.zone - LEAST_ZONES) : 10
    return {
      ...rung,
      sceneStops: clamp(to.sceneStops ?? rung.sceneStops, low, Math.max(low, high)),
      zone: clamp(to.zone ?? rung.zone, dark, Math.max(dark, light)),
    }
  })
}

/**
 * The print's settings with the rungs moved from where they stood to where they stand: the curve between them is stretched
 * along, stays rising, and comes back unchanged when nothing moved.
 */
export function settingsWith(
  base: PrintSettings,
  from: readonly LadderRung[],
  to: readonly LadderRung[],
): PrintSettings {
  if (from.every((r, i) => r.sceneStops === to[i]!.sceneStops && r.zone === to[i]!.zone)) return base
  const at = (rungs: readonly LadderRung[]) => rungs.map((r) => onCurve(r.sceneStops, base))
  const [before, after] = [at(from), at(to)]
  const shifts = before.map((x, i) => [x, after[i]! - x] as const)
  const lifts = before.map((x, i) => [x, to[i]!.zone - from[i]!.zone] as const)
  const bottom = base.rungs[0]!
  // The foot of the curve stays black, however its darkest rung is lifted.
  const foot = [Math.min(bottom.sceneStops, before[0]! - 0.5), 0] as const
  const moved = base.rungs.map((r) => ({
    sceneStops: r.sceneStops + between(shifts, r.sceneStops),
    zone: clamp(r.zone + between([foot, ...lifts], r.sceneStops), 0, 10),
  }))
  const rungs: { sceneStops: number; zone: number }[] = []
  for (const r of moved) {
    const last = rungs.at(-1)
    rungs.push({
      sceneStops: last ? Math.max(r.sceneStops, last.sceneStops + 0.01) : r.sceneStops,
      zone: last ? Math.max(r.zone, last.zone) : r.zone,
    })
  }
  return { ...base, rungs }
}

/** The anchor moved, so that the whole picture prints darker (negative) or lighter by stops. */
export const lighter = (settings: PrintSettings, stops: number): PrintSettings => ({
  ...settings,
  anchorStops: settings.anchorStops - stops,
})
