import { median } from '#core/base'
import { type Residual, residualOf } from './compare.ts'
import type { FrameLight } from './frame-light.ts'

/** Light in one frame that none of the others has: as a rule the aircraft's own anti-collision light. */
export interface StrobeLift {
  /** `whole`: all over; `rows`: a band of rows, lit while they were open; `part`: some of the picture. */
  readonly extent: 'whole' | 'rows' | 'part'
  /** Share of the picture that is lifted, 0..1. */
  readonly share: number
  /** The lift over the frame's middle level, in stops. */
  readonly liftStops: number
}

const PARTS = 6
/** A lift has to be this share of the frame's middle level, and this many deviations, and this much of the picture. */
const LEAST_LIFT = 0.06
const DEVIATIONS = 6
const LEAST_SHARE = 0.05
/** And stand above the differences among the other frames by this factor: dusk that falls makes each differ from the next. */
const OUTLIER = 3

/**
 * Which frames of a bracket are lit by something that the others do not show. Each frame's light beyond what the others lead
 * to expect (`residualOf`) is taken over its darker places, in strips of cell rows and six parts across. A frame is lit where
 * it stands above the others by more than those differ among themselves when it is left out. With two frames only bands of
 * rows are told, since a change all over may be the evening's. One entry a frame; null = nothing found.
 */
export function strobesOf(
  frames: readonly FrameLight[],
  residuals: readonly (Residual | null)[],
): readonly (StrobeLift | null)[] {
  return frames.map((frame, k) => {
    const residual = residuals[k]
    const own = residual && liftMap(residual, 2 ** frame.exposureStops)
    // Most frames end here: nothing stands out, whatever the others do.
    if (!own || !liftOf(own, [], frames.length)) return null
    const rest = frames.filter((_, j) => j !== k)
    const others = rest.flatMap((f, j) => {
      const r = rest.length > 1 ? residualOf(rest, j) : null
      const map = r && liftMap(r, 2 ** f.exposureStops)
      return map ? [map] : []
    })
    return others.length === rest.length || rest.length === 1 ? liftOf(own, others, frames.length) : null
  })
}

interface LiftMap {
  /** Lift of each strip and part for the exposure of the longest frame, NaN where unknown; and its deviation. */
  readonly lift: Float64Array
  readonly deviation: Float64Array
  readonly strips: number
  /** The frame's middle level in the same units. */
  readonly level: number
}

const STRIP = 3

function liftMap(r: Residual, exposure: number): LiftMap | null {
  const { level } = r
  if (!(level > 0)) return null
  const strips = Math.floor(r.rows / STRIP)
  const lift = new Float64Array(strips * PARTS).fill(Number.NaN)
  const deviation = new Float64Array(strips * PARTS).fill(Number.NaN)
  for (let strip = 0; strip < strips; strip++)
    for (let part = 0; part < PARTS; part++) {
      const over: number[] = []
      const [from, to] = [Math.floor((part * r.columns) / PARTS), Math.floor(((part + 1) * r.columns) / PARTS)]
      for (let y = strip * STRIP; y < (strip + 1) * STRIP; y++)
        for (let x = from; x < to; x++) {
          const i = y * r.columns + x
          // Bright places differ by their own light; a flash shows on the dark ones.
          if (r.expected[i]! <= 2 * level && Number.isFinite(r.over[i]!)) over.push(r.over[i]!)
        }
      if (over.length < 6) continue
      const at = strip * PARTS + part
      over.sort((p, q) => p - q)
      const quarter = over.length >> 2
      lift[at] = over[over.length >> 1]! / exposure
      // A Gaussian's quartiles stand 1.349 deviations apart; a median is 1.25 times less sure than a mean.
      const spread = (over[over.length - 1 - quarter]! - over[quarter]!) / 1.349
      deviation[at] = (1.25 * spread) / Math.sqrt(over.length) / exposure
    }
  return { lift, deviation, strips, level: level / exposure }
}

function liftOf(own: LiftMap, others: readonly LiftMap[], frames: number): StrobeLift | null {
  const lifted: number[] = []
  const rows = new Set<number>()
  const perRow = new Float64Array(own.strips)
  let seen = 0
  for (let i = 0; i < own.lift.length; i++) {
    const at = others.map((m) => m.lift[i]!).filter(Number.isFinite)
    if (!Number.isFinite(own.lift[i]!)) continue
    seen++
    const highest = Math.max(0, ...at)
    const differ = highest - Math.min(0, ...at)
    const over = own.lift[i]! - highest
    const noise = Math.hypot(own.deviation[i]!, ...others.map((m) => m.deviation[i]!).filter(Number.isFinite))
    if (over < LEAST_LIFT * own.level + OUTLIER * differ || over < DEVIATIONS * noise) continue
    lifted.push(over / own.level)
    rows.add(Math.floor(i / PARTS))
    perRow[Math.floor(i / PARTS)]! += 1
  }
  const share = seen > 0 ? lifted.length / seen : 0
  if (share < LEAST_SHARE) return null
  const acrossRows = [...rows].filter((y) => perRow[y]! >= PARTS - 2).length
  const band = acrossRows >= 0.6 * rows.size && rows.size < 0.85 * own.strips
  const extent = share >= 0.75 ? 'whole' : band ? 'rows' : 'part'
  // Of two frames either may be the odd one, and the evening darkens: only a band is a sign of its own.
  if (frames < 3 && extent !== 'rows') return null
  return { extent, share, liftStops: Math.log2(1 + median(lifted)) }
}
