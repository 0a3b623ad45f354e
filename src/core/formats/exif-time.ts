import type { TagReader } from './tiff-value.ts'

/** When the shutter opened: by the camera's own clock, and in UTC when its offset is known. */
export interface CameraTime {
  /** "YYYY-MM-DDTHH:MM:SS" by the camera's clock. */
  readonly clock: string | null
  /** "YYYY-MM-DDTHH:MM:SSZ". */
  readonly utc: string | null
  readonly offsetMinutes: number | null
  /** Seconds, 0 ≤ s < 1. */
  readonly subSecond: number
  /** "YYYY-MM-DDTHH:MM:SSZ" by the satellite receiver, whole seconds; its fix may be older than the picture. */
  readonly receiverUtc: string | null
}

const FIRST_YEAR = 1970
const LAST_YEAR = 2199

/** Seconds since 1970 of an Exif date and time "YYYY:MM:DD HH:MM:SS" (other separators are met); null when it is not one. */
function parseClock(text: string | null): number | null {
  const found = /^(\d{4})[:\-/.](\d{2})[:\-/.](\d{2})[ T](\d{2}):(\d{2}):(\d{2})/.exec(text ?? '')
  if (found === null) return null
  const [year, month, day, hour, minute, second] = found.slice(1).map(Number) as [
    number,
    number,
    number,
    number,
    number,
    number,
  ]
  if (year < FIRST_YEAR || year > LAST_YEAR || month < 1 || month > 12 || hour > 23 || minute > 59 || second > 59)
    return null
  const time = Date.UTC(year, month - 1, day, hour, minute, second)
  // 31 February would roll over into March.
  return new Date(time).getUTCDate() === day ? time / 1000 : null
}

const asClock = (seconds: number) => new Date(seconds * 1000).toISOString().slice(0, 19)

/** "+HH:MM", "-HH:MM", "Z"; minutes east of UTC. */
function parseOffset(text: string | null): number | null {
  if (text === 'Z') return 0
  const found = /^([+-])(\d{1,2}):?(\d{2})$/.exec(text ?? '')
  if (found === null) return null
  const minutes = Number(found[2]) * 60 + Number(found[3])
  return minutes > 15 * 60 ? null : found[1] === '-' ? -minutes : minutes
}

/** UTC seconds by the satellite receiver: GPSDateStamp and GPSTimeStamp. */
function receiverSeconds(gps: TagReader | null): number | null {
  const [hour, minute, second] = gps?.numbers(7) ?? []
  const date = gps?.text(29)
  if (!date || !(hour! >= 0 && hour! < 24 && minute! >= 0 && minute! < 60 && second! >= 0 && second! < 61)) return null
  const day = parseClock(`${date} 00:00:00`)
  return day === null || day === 0 ? null : day + hour! * 3600 + minute! * 60 + second!
}

/**
 * The camera clock's offset as the receiver's time implies it: a whole quarter of an hour, if the two clocks agree to
 * 3 minutes after taking it off. A fix may be old and a clock wrong: anything else stays unknown.
 */
function impliedOffset(clock: number, receiver: number | null): number | null {
  if (receiver === null) return null
  const minutes = (clock - receiver) / 60
  const quarter = Math.round(minutes / 15) * 15
  return Math.abs(minutes - quarter) <= 3 && Math.abs(quarter) <= 15 * 60 ? quarter : null
}

function firstText(places: readonly TagReader[], tag: number): string | null {
  for (const place of places) {
    const text = place.text(tag)
    if (text !== null) return text
  }
  return null
}

/** DateTimeOriginal, else DateTimeDigitized, else DateTime, with the sub-second and offset tags that go with it. */
export function cameraTime(places: readonly TagReader[], gps: TagReader | null): CameraTime {
  const kinds = [
    { time: 36867, part: 37521, offset: 36881 },
    { time: 36868, part: 37522, offset: 36882 },
    { time: 306, part: 37520, offset: 36880 },
  ]
  const receiver = receiverSeconds(gps)
  const receiverUtc = receiver === null ? null : `${asClock(Math.floor(receiver))}Z`
  for (const kind of kinds) {
    const clock = parseClock(firstText(places, kind.time))
    if (clock === null) continue
    const digits = /^\d+/.exec(firstText(places, kind.part) ?? '')?.[0] ?? '0'
    const part = Number(`0.${digits.slice(0, 9)}`)
    const offset =
      parseOffset(firstText(places, kind.offset)) ??
      // A writer that gives only one offset means it for all three times.
      parseOffset(firstText(places, 36881)) ??
      parseOffset(firstText(places, 36880)) ??
      parseOffset(firstText(places, 36882)) ??
      impliedOffset(clock, receiver)
    return {
      clock: asClock(clock),
      utc: offset === null ? null : `${asClock(clock - offset * 60)}Z`,
      offsetMinutes: offset,
      subSecond: part,
      receiverUtc,
    }
  }
  return { clock: null, utc: null, offsetMinutes: null, subSecond: 0, receiverUtc }
}
