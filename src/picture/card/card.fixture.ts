import type { Attitude } from '#core/formats'
import type { Frame } from './frame.ts'

/** One exposure of a made card: what a test wants to say about it, in the order of taking. */
export interface Shot {
  /** Stops from the base exposure. */
  readonly stops: number
  /** Seconds from the end of the frame before to the start of this one. */
  readonly pause?: number
  readonly iso?: number
  readonly yaw?: number
  readonly width?: number
  readonly height?: number
}

/** A camera's bracket: `pause` before its first frame, then as fast as the camera writes. */
export const bracketShots = (order: readonly number[], pause: number, more: Partial<Shot> = {}): Shot[] =>
  order.map((stops, i) => ({ pause: i === 0 ? pause : 0.4, ...more, stops }))

export interface MadeCardOptions {
  readonly baseSeconds?: number
  readonly firstCounter?: number
  /** False: the camera writes whole seconds only. */
  readonly subSeconds?: boolean
  readonly timed?: boolean
  readonly attitude?: boolean
}

/** Frames as a card would hold them, named IMG_0001.DNG … with times, counters and tags rounded as cameras round them. */
export function madeCard(shots: readonly Shot[], options: MadeCardOptions = {}): Frame[] {
  const { baseSeconds = 1 / 8, firstCounter = 1, subSeconds = true, timed = true, attitude = true } = options
  let clock = Date.parse('2027-02-09T17:40:00Z') / 1000
  return shots.map((shot, i) => {
    const exposureSeconds = roundTag((baseSeconds * 2 ** shot.stops * 100) / (shot.iso ?? 100))
    clock += shot.pause ?? 0.4
    const started = clock
    clock += exposureSeconds
    const counter = ((firstCounter - 1 + i) % 9999) + 1
    const whole = Math.floor(started)
    return {
      file: `IMG_${String(counter).padStart(4, '0')}.DNG`,
      companion: null,
      source: 'raw',
      width: shot.width ?? 4032,
      height: shot.height ?? 3024,
      facts: {
        exposureSeconds,
        fNumber: 1.7,
        iso: shot.iso ?? 100,
        ev100: null,
        focalLengthMillimetres: 6.7,
        takenAt: {
          utc: null,
          camera: timed ? new Date(whole * 1000).toISOString().slice(0, 19) : null,
          offsetMinutes: null,
          subSecond: timed && subSeconds ? Math.round((started - whole) * 1000) / 1000 : 0,
        },
        make: 'Maker',
        model: 'Model',
        attitude: attitude ? level(shot.yaw ?? 0) : null,
        position: null,
      },
    }
  })
}

/** Exposure times as files carry them: whole fractions below a third of a second, tenths above. */
const roundTag = (seconds: number) => (seconds < 0.3 ? 1 / Math.round(1 / seconds) : Math.round(seconds * 10) / 10)

const level = (gimbalYaw: number): Attitude => ({
  relativeHeightMetres: 60,
  gimbalPitch: -10,
  gimbalYaw,
  gimbalRoll: 0,
  flightYaw: gimbalYaw,
  flightPitch: 0,
  flightRoll: 0,
  speedNorth: 0,
  speedEast: 0,
  speedDown: 0,
})
