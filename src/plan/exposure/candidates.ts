import { type ExposureCamera, type Pattern, readAt } from './camera.ts'
import type { Exposure } from './ev.ts'
import { nominalSeconds } from './series.ts'

/** A bracket that the camera can take: times rise from the first by the pattern's step. */
export interface Candidate {
  readonly exposures: readonly Exposure[]
  readonly pattern: Pattern
  readonly brackets: 1 | 2
  /** Between the two brackets of a pair; 0 for one. */
  readonly offsetStops: number
  readonly totalSeconds: number
}

export interface Limits {
  /** Of one frame. */
  readonly longestSeconds: number
  /** Of all frames and the writing between them. */
  readonly totalSeconds: number
}

/**
 * What a step marked on a camera is: one marked 0.3, 0.7, 1.3 or 1.7 moves the shutter by whole thirds of a stop. Other steps
 * are what they say.
 */
export function trueStep(marked: number): number {
  const thirds = Math.round(3 * marked)
  return Math.abs(3 * marked - thirds) < 0.12 ? thirds / 3 : marked
}

/** A frame is as long as its dial's figure or its exact time, whichever is longer: both must keep a limit. */
const longestOf = (seconds: number): number => Math.max(seconds, nominalSeconds(seconds))

/** First shutter times go in thirds of a stop, as dials do. */
const THIRD = 1 / 3
/** A time on a dial's step may be a rounding above a limit stated in the dial's figures. */
const SLACK = 1 + 1e-9

/**
 * ISOs worth asking: the lowest, and higher ones only where read noise falls. With the same light and no less read noise, a
 * higher ISO has the same signal over noise and clips earlier.
 */
function usefulIsos(camera: ExposureCamera): number[] {
  let least = Number.POSITIVE_INFINITY
  return [...camera.isos]
    .sort((a, b) => a - b)
    .filter((iso) => {
      const read = readAt(camera, iso)
      if (read >= least) return false
      least = read
      return true
    })
}

/** Shutter times of a first frame: from the camera's shortest, in thirds of a stop, to what leaves room for `stops` above it. */
function* firstTimes(camera: ExposureCamera, longestSeconds: number, stops: number): Generator<number> {
  const from = Math.ceil(Math.log2(camera.shortestSeconds) / THIRD - 0.25)
  const to = Math.floor((Math.log2(longestSeconds * SLACK) - stops) / THIRD + 1e-9)
  for (let k = from; k <= to; k++) yield 2 ** (k * THIRD)
}

function* settings(camera: ExposureCamera): Generator<{ fNumber: number; iso: number }> {
  for (const fNumber of camera.fNumbers) for (const iso of usefulIsos(camera)) yield { fNumber, iso }
}

const ladder = (base: { fNumber: number; iso: number }, first: number, stepStops: number, frames: number): Exposure[] =>
  Array.from({ length: frames }, (_, i) => ({ ...base, seconds: first * 2 ** (stepStops * i) }))

const totalOf = (camera: ExposureCamera, exposures: readonly Exposure[]): number =>
  exposures.reduce((sum, e) => sum + e.seconds, 0) + camera.writeSeconds * (exposures.length - 1)

const keeps = ({ longestSeconds }: Limits, exposures: readonly Exposure[]): boolean =>
  exposures.every((e) => longestOf(e.seconds) <= longestSeconds * SLACK)

/** Every bracket of one pattern within the limits. */
export function* candidatesOf(camera: ExposureCamera, limits: Limits): Generator<Candidate> {
  for (const base of settings(camera))
    for (const pattern of camera.patterns) {
      const { frames } = pattern
      const step = trueStep(pattern.stepStops)
      for (const first of firstTimes(camera, limits.longestSeconds, step * (frames - 1))) {
        const exposures = ladder(base, first, step, frames)
        const totalSeconds = totalOf(camera, exposures)
        if (totalSeconds <= limits.totalSeconds && keeps(limits, exposures))
          yield { exposures, pattern, brackets: 1, offsetStops: 0, totalSeconds }
      }
    }
}

/** Two brackets of one pattern, the second longer by one to all of its steps, so that no gap opens between them. */
export function* pairsOf(camera: ExposureCamera, limits: Limits): Generator<Candidate> {
  for (const base of settings(camera))
    for (const pattern of camera.patterns) {
      const { frames } = pattern
      const stepStops = trueStep(pattern.stepStops)
      if (frames < 2) continue
      for (let apart = 1; apart <= frames; apart++) {
        const offsetStops = apart * stepStops
        for (const first of firstTimes(camera, limits.longestSeconds, stepStops * (frames - 1) + offsetStops)) {
          const second = first * 2 ** offsetStops
          const exposures = [...ladder(base, first, stepStops, frames), ...ladder(base, second, stepStops, frames)]
          const totalSeconds = totalOf(camera, exposures)
          exposures.sort((a, b) => a.seconds - b.seconds)
          if (totalSeconds <= limits.totalSeconds && keeps(limits, exposures))
            yield { exposures, pattern, brackets: 2, offsetStops, totalSeconds }
        }
      }
    }
}

/** Single frames, whatever they take. */
export function* singlesOf(camera: ExposureCamera, longestSeconds: number): Generator<Candidate> {
  const pattern = { frames: 1, stepStops: 0 }
  for (const base of settings(camera)) {
    let any = false
    for (const seconds of firstTimes(camera, longestSeconds, 0)) {
      if (longestOf(seconds) > longestSeconds * SLACK) continue
      any = true
      yield { exposures: [{ ...base, seconds }], pattern, brackets: 1, offsetStops: 0, totalSeconds: seconds }
    }
    if (!any && longestSeconds >= camera.shortestSeconds)
      yield {
        exposures: [{ ...base, seconds: camera.shortestSeconds }],
        pattern,
        brackets: 1,
        offsetStops: 0,
        totalSeconds: camera.shortestSeconds,
      }
  }
}
