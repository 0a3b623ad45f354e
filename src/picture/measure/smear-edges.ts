import { median } from '#core/base'
import { CELL, CELL_FLOATS, type TaskContext } from '#core/kernels'
import { cfaAt } from '#core/pixels'
import { type Candidate, strongest } from './candidates.ts'
import { type Edge, measureEdge, solve } from './edge-fit.ts'
import type { Light, MeasureView } from './light.ts'
import type { Stretch } from './movement.ts'

export interface EdgeReading {
  readonly stretch: Stretch
  /** Standard error of either part of the stretch, px². */
  readonly error: number
  /** Variance of the round part, px², without the pixel's own. */
  readonly round: number
  readonly edges: number
}

const MOST_PLACES = 400
const MOST_EDGES = 160
const FEWEST_EDGES = 12
/** After so many places with an edge at less than every tenth the frame is given up. */
const HOPELESS = 120
const REACHES = [8, 14] as const
const SHARES = 6
/** What sides that are not quite even do to the stretch, as a share of the variance. */
const OWN_SHAPE = 0.03

/**
 * Smear from straight edges, for frames without lamps. A movement of length L toward θ widens an edge whose normal stands at φ by
 * (L²/12)·cos²(φ − θ); the lens widens all alike. So variance = A + B cos 2φ + C sin 2φ over edges of many directions, and the
 * stretch is 2(B, C). Real edges may be softer than the lens, never sharper: the fit leans on the sharper ones.
 * Null with fewer than twelve edges, or when they all run one way.
 */
export function readEdges(context: TaskContext, view: MeasureView, light: Light): EdgeReading | null {
  const places = edgePlaces(context, view, light)
  for (const reach of REACHES) {
    const edges: Edge[] = []
    for (const [tried, place] of places.entries()) {
      if (tried >= HOPELESS && edges.length * 10 < tried) break
      const edge = measureEdge(light, place, reach)
      if (edge && !edges.some((e) => Math.abs(e.x - edge.x) + Math.abs(e.y - edge.y) < 4)) edges.push(edge)
      if (edges.length >= MOST_EDGES) break
    }
    const reading = combine(edges)
    const widest = reading ? reading.round + 1 / 12 + Math.hypot(...reading.stretch) : 0
    if (reading && (4 * Math.sqrt(widest) < reach || reach === REACHES[1])) return reading
  }
  return null
}

/**
 * A Gaussian step fitted to one that a movement widened reads too wide, by 22.9 % of the variance when movement is all there is
 * and by the 2.3rd power of its share otherwise (least squares fits done numerically, within 0.3 %).
 */
const boxExcess = (share: number) => 0.229 * share ** 2.3

function combine(raw: readonly Edge[]): EdgeReading | null {
  if (raw.length < FEWEST_EDGES) return null
  let edges = raw
  let whole = lean(edges)
  for (let pass = 0; pass < 4 && whole; pass++) {
    const [a, b, c] = whole as [number, number, number]
    const half = Math.hypot(b, c)
    edges = raw.map((e) => {
      const along = b * Math.cos(2 * e.across) + c * Math.sin(2 * e.across)
      const share = Math.min(1, (half + along) / Math.max(a + along, 1e-6))
      return { ...e, variance: e.variance / (1 + boxExcess(share)) }
    })
    whole = lean(edges)
  }
  if (!whole) return null
  const without = Array.from({ length: SHARES }, (_, g) => lean(edges.filter((_e, i) => i % SHARES !== g)))
  if (without.some((w) => w === null)) return null
  const variance = [1, 2].map((k) => {
    const values = without.map((w) => 2 * w![k]!)
    const mean = values.reduce((a, b) => a + b, 0) / SHARES
    return (values.reduce((a, b) => a + (b - mean) ** 2, 0) * (SHARES - 1)) / SHARES
  })
  const stretch: Stretch = [2 * whole[1]!, 2 * whole[2]!]
  const round = Math.max(0, whole[0]! - Math.hypot(...stretch) / 2 - 1 / 12)
  const random = Math.sqrt((variance[0]! + variance[1]!) / 2)
  return { stretch, error: Math.hypot(random, OWN_SHAPE * (round + 1 / 12)), round, edges: edges.length }
}

/** A, B, C by least squares that weighs what lies above by a fifth (expectiles: Newey, Powell 1987) and far above not at all. */
function lean(edges: readonly Edge[]): number[] | null {
  let weights = edges.map(() => 1)
  let found: number[] | null = null
  for (let pass = 0; pass < 12; pass++) {
    const rows = Array.from({ length: 3 }, () => new Float64Array(4))
    let spreadC = 0
    edges.forEach((e, i) => {
      const g = [1, Math.cos(2 * e.across), Math.sin(2 * e.across), e.variance]
      for (let j = 0; j < 3; j++) for (let k = 0; k < 4; k++) rows[j]![k]! += weights[i]! * g[j]! * g[k]!
      spreadC += weights[i]!
    })
    // Directions must differ: an eighth of the weight off the common one, in each part.
    const [p, q, r] = [rows[0]![1]! / spreadC, rows[0]![2]! / spreadC, rows[1]![2]! / spreadC]
    const [cc, ss] = [rows[1]![1]! / spreadC - p * p, rows[2]![2]! / spreadC - q * q]
    if (cc * ss - (r - p * q) ** 2 < 0.01) return null
    found = solve(rows)
    if (!found) return null
    const [a, b, c] = found as [number, number, number]
    const left = edges.map((e) => e.variance - a - b * Math.cos(2 * e.across) - c * Math.sin(2 * e.across))
    const scale = Math.max(median(left.map(Math.abs)) * 1.5, 0.01)
    weights = left.map((v) => (v > 0 ? 0.2 : 1) / (1 + (v / (3 * scale)) ** 4))
  }
  return found
}

/** Middles of the strongest steps between neighbouring cells, the areas of the field in turn. */
function edgePlaces(context: TaskContext, view: MeasureView, light: Light): Candidate[] {
  const columns = Math.floor(view.width / CELL)
  const rows = Math.floor(view.height / CELL)
  const means = new Float32Array(columns * rows)
  const row = context.memory.f32(context.scratch, Math.ceil(view.width / CELL) * CELL_FLOATS)
  const [a, b] = view.cfa !== null && cfaAt(view.cfa, 0, 0) !== 1 ? [1, 2] : [0, 3]
  for (let y = 0; y < rows; y++) {
    context.kernels.cellRow(view.at, view.width, view.height, y, context.scratch)
    for (let x = 0; x < columns; x++)
      means[y * columns + x] = (row[x * CELL_FLOATS + a]! + row[x * CELL_FLOATS + b]!) / 2 - light.black[0]
  }
  const areas = Array.from({ length: 48 }, () => strongest(Math.ceil(MOST_PLACES / 8)))
  for (let y = 1; y + 1 < rows; y++)
    for (let x = 1; x + 1 < columns; x++) {
      const i = y * columns + x
      const gx = means[i + 1]! - means[i - 1]!
      const gy = means[i + columns]! - means[i - columns]!
      const contrast = Math.hypot(gx, gy) / Math.sqrt(Math.max(means[i]!, 1))
      areas[Math.floor((6 * y) / rows) * 8 + Math.floor((8 * x) / columns)]!.offer(contrast, i)
    }
  const ranked = areas.map((r) => r.ranked())
  const places: Candidate[] = []
  for (let rank = 0; places.length < MOST_PLACES && ranked.some((r) => rank < r.length); rank++)
    for (const area of ranked) {
      const cell = area[rank]
      if (cell === undefined || places.length >= MOST_PLACES) continue
      places.push(steepest(light, (cell % columns) * CELL, Math.floor(cell / columns) * CELL))
    }
  return places
}

/** The place of a cell where sums over 5 × 5 pixels change fastest. */
function steepest(light: Light, left: number, top: number): Candidate {
  const { samples, width, height, first, step } = light
  const sum = (x: number, y: number) => {
    let s = 0
    for (let v = -2; v <= 2; v++)
      for (let u = -2 + ((first(y + v) + x - 2) & (step - 1)); u <= 2; u += step) s += samples[(y + v) * width + x + u]!
    return s
  }
  let best = -1
  let at: Candidate = { x: left + CELL / 2, y: top + CELL / 2 }
  for (let y = Math.max(top, 8); y < Math.min(top + CELL, height - 8); y += 2)
    for (let x = Math.max(left, 8); x < Math.min(left + CELL, width - 8); x += 2) {
      const change = Math.hypot(sum(x + 3, y) - sum(x - 3, y), sum(x, y + 3) - sum(x, y - 3))
      if (change > best) {
        best = change
        at = { x, y }
      }
    }
  return at
}
