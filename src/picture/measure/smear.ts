import { median, quantile } from '#core/base'
import type { TaskContext } from '#core/kernels'
import { lengthBelief } from './belief.ts'
import { type Candidate, findCandidates } from './candidates.ts'
import { chooseLamps, MOST_CANDIDATES, REACHES } from './choose.ts'
import { type Focus, focusOf } from './focus.ts'
import type { Lamp } from './lamp.ts'
import { byNinth, type Light, lightOf, type MeasureView } from './light.ts'
import { degreesOf, fitMovement, lengthOf, neighbours, type Stretch } from './movement.ts'
import { covarianceOf, type Placed, type Pool, poolLamps, roundShape, type Shape } from './pool.ts'
import { readEdges } from './smear-edges.ts'
import { ringsFor, transformOn } from './spectrum.ts'
import { addLamp, addStacks, emptyStack, meanBlob, type Stack, stackBlur, withoutPart } from './stack.ts'

/** How far the picture moved over the sensor during the exposure. */
export interface Smear {
  /** Length of the even, straight movement with the same second moments, in pixels of the frame as stored. */
  readonly pixels: number
  /**
   * Its direction in the frame as stored: 0 to the right, clockwise as seen, 0 ≤ d < 180. Null where its standard error is
   * above 2.5°, so a frame that stood still has none.
   */
  readonly directionDegrees: number | null
  /** Probability that `pixels` is within 0.15 px or 5 % of the truth, whichever is larger. */
  readonly confidence: number
  readonly from: 'lamps' | 'edges'
  /** Lamps, or edges, that were used. */
  readonly used: number
}

/**
 * Why a frame has no smear. Too few lamps, blobs too large and longer than the window say why lamps did not serve where
 * edges did not either; `unsure` is a length whose confidence is below 0.4.
 */
export type NoSmear = 'too-small' | 'too-few-lamps' | 'blobs-too-large' | 'longer-than-window' | 'unsure'

export interface SmearAndFocus {
  readonly smear: Smear | null
  readonly focus: Focus | null
  /** Why there is no smear. */
  readonly why: NoSmear | null
}

/** Shorter sides have no room for windows and cells. */
const SMALLEST = 64
const FEWEST_LAMPS = 3
/** Of fewer than this all may be the same mistake, such as reflections on water: they are trusted less. */
const MANY = 12
/** Even noiseless blobs may lie by this share of their size over their number: a few do not stand evenly between the sites. */
const OWN_SHAPE = 0.08
/** Green sites stand √2 px apart: of blobs narrower than this variance, px², too little of the shape falls between them … */
const SHARPEST = 0.27
/** … and the stretch errs by this share of their size, found by experiment. */
const UNDERSAMPLED = 0.12
/** A direction is given when its standard error is below this: two of them are 5°. */
const DIRECTION_ERROR = (2.5 * Math.PI) / 180

/** Below this confidence so many times the lamps are asked. */
const SURE = 0.95
const MORE = 4
/** Below this confidence of the lamps, edges are asked too. */
const LAMPS_SUFFICE = 0.5
/** Below this confidence no length is given. */
const UNSURE = 0.4
/** Edges of a scene are not known to be sharp: at the most this much trust. */
const EDGE_TRUST = 0.8

/**
 * Smear and focus of one frame, from its lamps, else from its edges: see docs/science/measure.md. One pass over the frame to
 * find them, then small windows only. Uses the context's scratch for one row of cells. Never throws: a picture that says
 * nothing (flat, black, saturated, tiny) gives null and the reason.
 */
export function measureSmear(context: TaskContext, view: MeasureView): SmearAndFocus {
  if (Math.min(view.width, view.height) < SMALLEST) return { smear: null, focus: null, why: 'too-small' }
  const light = lightOf(context.memory, view)
  const candidates = findCandidates(context, view, light, MOST_CANDIDATES)
  let lamps = fromLamps(light, candidates, 1)
  // A noisy frame needs more of them; most do not.
  if (typeof lamps !== 'string' && lamps.smear.confidence < SURE)
    lamps = surer(lamps, fromLamps(light, candidates, MORE))
  if (typeof lamps !== 'string' && lamps.smear.confidence >= LAMPS_SUFFICE) return { ...lamps, why: null }
  const edges = fromEdges(context, view, light)
  if (edges && (typeof lamps === 'string' || edges.smear.confidence > lamps.smear.confidence)) return sure(edges)
  return typeof lamps === 'string' ? { smear: null, focus: null, why: lamps } : sure(lamps)
}

const surer = (a: Reading, b: Reading | NoSmear): Reading =>
  typeof b === 'string' || b.smear.confidence < a.smear.confidence ? a : b

/** A length that is hardly known is none; how round blobs are is known all the same. */
const sure = ({ smear, focus }: Reading): SmearAndFocus =>
  smear.confidence < UNSURE ? { smear: null, focus, why: 'unsure' } : { smear, focus, why: null }

interface Reading {
  readonly smear: Smear
  readonly focus: Focus | null
}

function smearFrom(line: Stretch, error: number, from: Smear['from'], used: number, trust: number): Smear {
  const size = Math.hypot(...line)
  const { pixels, confidence } = lengthBelief(size, error)
  const directionDegrees = error / (2 * size) < DIRECTION_ERROR ? degreesOf(line) : null
  return { pixels, directionDegrees, confidence: confidence * trust, from, used }
}

function fromEdges(context: TaskContext, view: MeasureView, light: Light): Reading | null {
  const found = readEdges(context, view, light)
  if (!found) return null
  const smear = smearFrom(found.stretch, found.error, 'edges', found.edges, EDGE_TRUST)
  return { smear, focus: { blurPixels: Math.sqrt(found.round), field: [], unevenness: null } }
}

function fromLamps(light: Light, candidates: readonly Candidate[], many: number): Reading | NoSmear {
  const like = likeLamps(light, candidates, many)
  if (!like) return 'too-few-lamps'
  const { pool, reach } = like
  const { shape, lamps } = pool
  const c = covarianceOf(shape)
  const size = (c.xx + c.yy) / 2
  const longAxis = size + Math.hypot((c.xx - c.yy) / 2, c.xy)
  if (neededReach(longAxis) > 1.3 * reach) return 'blobs-too-large'
  const shortAxis = 2 * size - longAxis
  const { cells, shares } = stacksOf(light, lamps, shape, reach)
  const all = shares.reduce(addStacks)
  const rings = ringsFor(Math.sqrt(shortAxis + stackBlur(all)))
  const transform = transformOn(rings, all.side, all.cell)
  const spectrum = transform(meanBlob(all, shape))
  const line = fitMovement(spectrum, 1.6 * reach)
  if (lengthOf(line) > 1.25 * reach) return 'longer-than-window'
  /** Error of either part of the stretch, px², from leaving each part of the lamps out in turn (Tukey 1958). */
  const jackknife = (parts: readonly Stack[]) =>
    spreadOf(
      neighbours(
        spectrum,
        line,
        parts.map((part) => transform(meanBlob(withoutPart(all, part), shape))),
      ),
    )
  // Two ways of parting: by place, which shows what changes over the field, and in turn, which shows noise.
  const areas = cells.filter((f) => f.lamps > 0).map((f) => f.stack)
  const random = Math.max(jackknife(shares), areas.length >= 4 ? jackknife(areas) : 0)
  const own = Math.max(OWN_SHAPE / lamps.length, shortAxis < SHARPEST ? UNDERSAMPLED : 0) * size
  const error = Math.hypot(random, own)
  return {
    smear: smearFrom(line, error, 'lamps', lamps.length, Math.min(1, lamps.length / MANY) ** 2),
    // A handful may all be windows, whose size is not the lens's blur.
    focus: lamps.length < MANY ? null : focusOf(spectrum, transform, cells, shape, line),
  }
}

/** Radius of the window that a blob of this variance along its long axis needs, pixels. */
const neededReach = (variance: number) => 1.5 + 3 * Math.sqrt(variance)

interface LikeLamps {
  readonly pool: Pool
  readonly reach: number
}

/** So many lamps tell the shape well enough to choose the window by it, and to start all of them from it. */
const PILOT_LAMPS = 36

function likeLamps(light: Light, candidates: readonly Candidate[], many: number): LikeLamps | null {
  for (let least = 0; ; ) {
    const { lamps, reach } = chooseLamps(light, candidates, least, many)
    if (lamps.length < FEWEST_LAMPS) return null
    const start = roundShape(Math.max(0.5, median(lamps.map((l) => l.size))))
    const pilot = poolLamps(light, lamps.slice(0, PILOT_LAMPS), reach, start)
    const c = covarianceOf(pilot.shape)
    const wider = REACHES.find((r) => r > reach)
    if (wider && neededReach((c.xx + c.yy) / 2 + Math.hypot((c.xx - c.yy) / 2, c.xy)) > reach) {
      least = wider
      continue
    }
    const pool = trimmed(light, lamps, reach, pilot.shape)
    return pool.lamps.length < FEWEST_LAMPS ? null : { pool, reach }
  }
}

/**
 * Pools, leaves out those that the shape fits worse than the better part, and pools again (least trimmed squares: Rousseeuw 1984): lit
 * windows and lamps with lit ground around are many in a town, and their shape is not the frame's.
 */
function trimmed(light: Light, lamps: readonly Lamp[], reach: number, start: Shape): Pool {
  let pool = poolLamps(light, lamps, reach, start)
  for (let pass = 0; pass < TRIMS; pass++) {
    const kept = byNinth(light, pool.lamps).flatMap((own) => clean(own, pool.lamps))
    if (kept.length === pool.lamps.length || kept.length < FEWEST_LAMPS) break
    pool = poolLamps(light, kept, reach, pool.shape)
  }
  return pool
}

const TRIMS = 3

/** Lamps whose light is not all their own leave more than their neighbours do. */
function clean(own: readonly Placed[], all: readonly Placed[]): Placed[] {
  const misfits = (own.length >= 3 ? own : all).map((l) => l.misfit)
  const limit = 6 * quantile(misfits, BETTER_PART) + 1e-4
  return own.filter((l) => l.misfit <= limit + 3 * l.grain)
}

/** This share of the lamps is taken for points of light. */
const BETTER_PART = 0.3

const SHARES = 6

/**
 * The lamps' stacks, parted twice over: one for each ninth of the field, and lamps dealt out in turn. Bright lamps speak
 * louder, to a limit: their own faults must not rule.
 */
function stacksOf(light: Light, lamps: readonly Placed[], shape: Shape, reach: number) {
  const worthOf = (lamp: Placed) => (lamp.height / lamp.noise) ** 2
  const cap = 4 * median(lamps.map(worthOf))
  const shares = Array.from({ length: Math.min(SHARES, lamps.length) }, () => emptyStack(reach))
  let dealt = 0
  const cells = byNinth(light, lamps).map((own) => {
    const parts = shares.map(() => emptyStack(reach))
    for (const lamp of own) addLamp(parts[dealt++ % parts.length]!, light, lamp, shape, Math.min(worthOf(lamp), cap))
    parts.forEach((part, i) => {
      shares[i] = addStacks(shares[i]!, part)
    })
    return { stack: parts.reduce(addStacks), lamps: own.length }
  })
  return { cells, shares }
}

/** Root of the mean of both parts' jackknife variances. */
function spreadOf(without: readonly Stretch[]): number {
  const n = without.length
  const variance = ([0, 1] as const).map((k) => {
    const mean = without.reduce((a, s) => a + s[k], 0) / n
    return (without.reduce((a, s) => a + (s[k] - mean) ** 2, 0) * (n - 1)) / n
  })
  return Math.sqrt((variance[0]! + variance[1]!) / 2)
}
