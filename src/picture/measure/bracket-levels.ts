import { median } from '#core/base'
import { CELL } from '#core/kernels'
import { type Residual, residualOf } from './compare.ts'
import { type Flicker, flickerOf } from './flicker.ts'
import { type FrameLevels, lightGrid } from './frame-levels.ts'
import type { FrameLight } from './frame-light.ts'
import { type Haze, hazeOf } from './haze.ts'
import { type NoiseMeasure, noiseOfGrain } from './noise.ts'
import { STOPS } from './scene-stops.ts'
import { type StrobeLift, strobesOf } from './strobe.ts'

/** One frame of a bracket as its measuring left it. */
export interface BracketFrame {
  /** Null for a frame that could not be read. */
  readonly levels: FrameLevels | null
  /** The cells that `frameLevels` wrote, with the grid it stated; null for rendered pictures and unread frames. */
  readonly light: FrameLight | null
  readonly exposureSeconds: number | null
  readonly iso: number | null
  /** Light recorded, in stops, from the tags. */
  readonly exposureStops: number
  /** How far its masked areas stand above the stated black, in codes; null where it has none. */
  readonly maskedBlackCodes?: number | null
}

/** What a bracket's frames say together. */
export interface BracketLevels {
  /** Place of the shortest and the longest exposure among the frames that were measured; null when none was. */
  readonly shortest: number | null
  readonly longest: number | null
  readonly span: SceneSpan | null
  /** One entry a frame; null where none is seen. */
  readonly flicker: readonly (Flicker | null)[]
  /** Whether frames could be held against each other; without, `flicker`, `strobe` and `haze` say nothing. */
  readonly compared: boolean
  readonly strobe: readonly (StrobeLift | null)[]
  readonly haze: Haze | null
  /** Green's noise of all frames of the commonest ISO together; null when they do not tell. */
  readonly noise: NoiseMeasure | null
  /**
   * How far the frame that stands farthest aside is from the others, as a share of the picture's width; known to about 0.2 %
   * and up to 128 rows or eight cells across; null when no frame tells.
   */
  readonly driftShare: number | null
  /** Black above the stated one in codes, from masked areas, else from the line between frames; null when undetermined. */
  readonly blackOffsetCodes: number | null
}

/** The scene's light in stops against what saturates the bracket's shortest frame. */
export interface SceneSpan {
  /** Stops from the darkest 1 % to the brightest 0.01 % of the picture. */
  readonly stops: number
  /** Brightest and darkest, in stops against saturation of the frame of middle exposure: positive is brighter. */
  readonly topStops: number
  readonly bottomStops: number
  /** True where the shortest frame still clips more than 0.01 %: the scene is at least this bright. */
  readonly topOpen: boolean
  /** True where the longest frame does not reach the darkest 1 %: the scene is at least this dark. */
  readonly bottomOpen: boolean
}

/** Exposures longer than this blur 100 Hz to 3 % or less (1/(π·f·t)): there is no band to look for. */
const FLICKER_SECONDS = 0.11

/** Holds the frames of one bracket against each other. `rowSeconds`: the time from row to row where it is known. */
export function bracketLevels(frames: readonly BracketFrame[], rowSeconds: number | null = null): BracketLevels {
  const measured = frames.flatMap((f, k) => (f.levels && Number.isFinite(f.exposureStops) ? [k] : []))
  const byExposure = [...measured].sort((a, b) => frames[a]!.exposureStops - frames[b]!.exposureStops)
  const seen = frames.flatMap((f, k) => (f.light && Number.isFinite(f.exposureStops) ? [k] : []))
  const light = seen.map((k) => frames[k]!.light!)
  const residuals = light.map((_, j) => (light.length > 1 ? residualOf(light, j) : null))
  const strobes = strobesOf(light, residuals)
  const none = frames.map(() => null)
  const place = <T>(list: readonly (T | null)[]): (T | null)[] => {
    const out: (T | null)[] = [...none]
    seen.forEach((k, j) => {
      out[k] = list[j] ?? null
    })
    return out
  }
  const bands = residuals.map((r, j) => {
    const seconds = frames[seen[j]!]!.exposureSeconds
    return r && seconds !== null && seconds < FLICKER_SECONDS ? flickerOf(r, CELL, rowSeconds) : null
  })
  return {
    shortest: byExposure[0] ?? null,
    longest: byExposure.at(-1) ?? null,
    span: spanOf(byExposure.map((k) => frames[k]!)),
    flicker: place(bands),
    compared: residuals.some((r) => r !== null),
    strobe: place(strobes),
    haze: hazeOf(light, residuals),
    noise: pooled(frames),
    driftShare: driftShareOf(frames, residuals),
    blackOffsetCodes: maskedBlackOf(frames) ?? blackFromLines(frames, seen, residuals),
  }
}

function driftShareOf(frames: readonly BracketFrame[], residuals: readonly (Residual | null)[]): number | null {
  const size = frames.find((f) => f.levels !== null)?.levels
  if (!size) return null
  const { cellColumns, cellRows } = lightGrid(size.width, size.height)
  const pixels = residuals.flatMap((r) =>
    r?.drift ? [Math.hypot(r.drift[0] * cellColumns, r.drift[1] * cellRows)] : [],
  )
  return pixels.length > 0 ? Math.max(...pixels) / size.width : null
}

/** Frames of the commonest ISO share one line. */
function pooled(frames: readonly BracketFrame[]): NoiseMeasure | null {
  const byIso = new Map<number, BracketFrame[]>()
  for (const f of frames) if (f.levels?.noise) byIso.set(f.iso ?? 0, [...(byIso.get(f.iso ?? 0) ?? []), f])
  const most = [...byIso.values()].sort((a, b) => b.length - a.length)[0]
  return most ? noiseOfGrain(most.map((f) => f.levels!.noise!.grain[1] ?? null)) : null
}

const maskedBlackOf = (frames: readonly BracketFrame[]): number | null => {
  const known = frames.flatMap((f) => f.maskedBlackCodes ?? [])
  return known.length > 0 ? median(known) : null
}

/** A veil that is the same number of codes in frames of unlike exposure is a black level that is off. */
function blackFromLines(
  frames: readonly BracketFrame[],
  seen: readonly number[],
  residuals: readonly (Residual | null)[],
): number | null {
  // The shortest frame sees most of it: its own offset, less a small share of the others'.
  const shortest = seen.reduce((a, k) => (frames[k]!.exposureStops < frames[a]!.exposureStops ? k : a), seen[0] ?? -1)
  const j = seen.indexOf(shortest)
  const r = residuals[j]
  const range = frames[shortest]?.levels?.noise?.grain.find((g) => g !== null)?.range
  if (!r || range === undefined) return null
  const others = seen.filter((k) => k !== shortest)
  const ratio = others.reduce((s, k) => s + 2 ** (frames[k]!.exposureStops - frames[shortest]!.exposureStops), 0)
  // With offset b in each frame: veil = b − slope·(n·b)/Σratio.
  const share = 1 - (r.slope * others.length) / ratio
  return share > 0.5 && r.veilError * range < 1 ? (r.veil * range) / share : null
}

const TOP_SHARE = 1e-4
const BOTTOM_SHARE = 0.01

/**
 * The scene's span: for each level, the share of the picture above it is read from the longest frame that does not clip
 * there. `frames` in order of exposure.
 */
function spanOf(frames: readonly BracketFrame[]): SceneSpan | null {
  const [shortest, longest] = [frames[0], frames.at(-1)]
  if (!shortest?.levels || !longest?.levels) return null
  const middle = frames[(frames.length - 1) >> 1]!.exposureStops
  const [top, topOpen] = brightest(shortest.levels)
  const [bottom, bottomOpen] = darkest(longest.levels)
  // Saturation of a frame that got a stop more stands a stop lower in the scene.
  const topStops = top - (shortest.exposureStops - middle)
  const bottomStops = bottom - (longest.exposureStops - middle)
  return { stops: Math.max(0, topStops - bottomStops), topStops, bottomStops, topOpen, bottomOpen }
}

/** Level of the brightest 0.01 % in stops against saturation (0 or less), and whether it clips. */
function brightest({ stops, clipped }: FrameLevels): readonly [number, boolean] {
  if (Math.max(clipped.r, clipped.g, clipped.b) > TOP_SHARE) return [0, true]
  let above = 0
  for (let k = 0; k < STOPS; k++) {
    const share = Math.max(stops.r[k]!, stops.g[k]!, stops.b[k]!)
    if (above + share > TOP_SHARE) return [-(k + (TOP_SHARE - above) / share), false]
    above += share
  }
  return [-STOPS, false]
}

/** Level of the darkest 1 % in stops against saturation, and whether it drowns in noise. */
function darkest({ stops, buried, noise }: FrameLevels): readonly [number, boolean] {
  const floor = noise ? Math.log2(noiseFloor(noise.used)) : -8
  let below = 0
  for (let k = STOPS - 1; k >= 0; k--) {
    const share = stops.luma[k]!
    if (below + share > BOTTOM_SHARE) {
      const level = -(k + 1 - (BOTTOM_SHARE - below) / share)
      return level < floor || buried[0]! > BOTTOM_SHARE ? [Math.max(level, floor), true] : [level, false]
    }
    below += share
  }
  return [0, false]
}

/** The signal that equals its own noise. */
const noiseFloor = ({ scale, offset }: { scale: number; offset: number }) =>
  (scale + Math.sqrt(scale ** 2 + 4 * offset)) / 2
