import { median } from '#core/base'
import { type ClockStep, clockAhead } from './clock-steps.ts'
import type { Placed } from './placed.ts'

/** A camera's clock against the satellite receiver's time in the same files. */
export interface Clock {
  /** Seconds to add to the camera's times to put them right; 0 when it goes right; null when the files do not tell. */
  readonly offsetSeconds: number | null
  /** What the offset rests on, in words for people. */
  readonly basis: string
  /** How many frames it rests on. */
  readonly frames: number
  /** The zone that the camera's clock shows, minutes east of UTC; null when not known. */
  readonly zoneMinutes: number | null
  /** Where the clock was set on the way; the offset is that of the frames before the first step. */
  readonly steps: readonly ClockStep[]
}

const LEAST_FRAMES = 3
const AGREE_SHARE = 0.8
/** Whole seconds on both sides, and a moment between fix and shutter. */
const AGREE_SECONDS = 3
/** A clock this near goes right: more is not to be had from whole seconds. */
const RIGHT_SECONDS = 2
/** Zones off the hour are rare: one is believed only where it makes the clock nearly right. */
const OFF_HOUR_SECONDS = 60
/** Every zone off the hour in use, minutes east of UTC, summer time included (IANA time zone database; from memory). */
const OFF_HOUR_ZONES = [-570, -210, -150, 210, 270, 330, 345, 390, 525, 570, 630, 765, 825]
const isZone = (minutes: number) => minutes % 60 === 0 || OFF_HOUR_ZONES.includes(minutes)
const MOST_ZONE_MINUTES = 15 * 60

/** The offset of all cameras' clocks together where they agree; null where the files tell nothing of it. */
export function clockOf(streams: readonly (readonly Placed[])[], steps: readonly ClockStep[]): Clock | null {
  const ahead: { seconds: number; slack: number; zone: number | null }[] = []
  for (const placed of streams.flat()) {
    const seconds = clockAhead(placed)
    const { exposureSeconds, takenAt } = placed.frame.facts
    if (seconds !== null)
      ahead.push({ seconds, slack: AGREE_SECONDS + (exposureSeconds ?? 0), zone: takenAt.offsetMinutes })
  }
  const none = { offsetSeconds: null, frames: 0, zoneMinutes: null, steps }
  const unknown = steps.length > 0 ? { ...none, basis: 'the files carry no time but the camera’s' } : null
  if (ahead.length < LEAST_FRAMES) return unknown
  const middle = median(ahead.map((a) => a.seconds))
  const agreeing = ahead.filter((a) => Math.abs(a.seconds - middle) <= a.slack)
  if (agreeing.length < AGREE_SHARE * ahead.length)
    return { ...none, basis: 'the satellite receiver’s times and the camera’s do not keep one distance' }
  // What is no zone anywhere was read from these same clocks: the camera's is wrong by nearly a quarter of an hour.
  const stated = agreeing.find((a) => a.zone !== null && isZone(a.zone))?.zone ?? null
  const zone = stated ?? likeliestZone(middle)
  if (zone === null) return unknown
  const offset = Math.round(zone * 60 - middle)
  return {
    offsetSeconds: Math.abs(offset) <= RIGHT_SECONDS ? 0 : offset,
    basis: `the satellite receiver’s time in the files; the zone read as ${zoneWords(zone)}`,
    frames: agreeing.length,
    zoneMinutes: zone,
    steps,
  }
}

/** Whole hours, unless a half or quarter hour makes the clock nearly right. */
function likeliestZone(aheadSeconds: number): number | null {
  const hour = 60 * Math.round(aheadSeconds / 3600)
  const offHour = OFF_HOUR_ZONES.find((minutes) => Math.abs(aheadSeconds - minutes * 60) <= OFF_HOUR_SECONDS)
  const zone = offHour ?? hour
  return Math.abs(zone) <= MOST_ZONE_MINUTES ? zone : null
}

function zoneWords(minutes: number): string {
  const size = Math.abs(minutes)
  const two = (n: number) => String(n).padStart(2, '0')
  return `UTC${minutes < 0 ? '−' : '+'}${two(Math.floor(size / 60))}:${two(size % 60)}`
}
