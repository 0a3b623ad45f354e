import { figure } from '#apps/report'
import { shutter } from '#jobs/contract'

/** "17:31" of a local time. */
export const clockOf = (local: string): string => local.slice(11, 16)

export const fileName = (file: string): string => file.split('/').at(-1) ?? file

/** A frame's name without folder and ending. */
export const frameName = (file: string): string => fileName(file).replace(/\.[^.]+$/, '')

export const count = (n: number, one: string, many = `${one}s`): string => `${n} ${n === 1 ? one : many}`

const UNITS = ['bytes', 'kB', 'MB', 'GB', 'TB'] as const

export function bytes(n: number): string {
  let value = n
  let unit = 0
  while (value >= 1000 && unit < UNITS.length - 1) {
    value /= 1000
    unit++
  }
  return `${value >= 100 || unit === 0 ? Math.round(value) : value.toFixed(1)} ${UNITS[unit]}`
}

/** "12 s", "3 min". */
export function duration(seconds: number): string {
  if (seconds < 90) return `${Math.max(1, Math.round(seconds))} s`
  return `${Math.round(seconds / 60)} min`
}

export const lux = (value: number): string =>
  `${value >= 100 ? value.toFixed(0) : String(Number(value.toPrecision(2)))} lx`

export const ev = (value: number): string => figure(value, 1)

export const stops = (value: number, digits = 1): string => `${value > 0 ? '+' : ''}${figure(value, digits)}`

export const percent = (share: number): string => `${Math.round(100 * share)} %`

export const settings = (s: { fNumber: number; iso: number; shutterSeconds: number }): string =>
  `f/${s.fNumber}, ISO ${s.iso}, ${shutter(s.shutterSeconds)}`

const points = ['north', 'north-east', 'east', 'south-east', 'south', 'south-west', 'west', 'north-west'] as const

/** A direction in words. */
export const towards = (degrees: number): string => points[Math.round((((degrees % 360) + 360) % 360) / 45) % 8]!

/** A date so many days later: "2027-02-10". */
export function daysLater(date: string, days: number): string {
  const at = new Date(`${date}T12:00:00Z`)
  at.setUTCDate(at.getUTCDate() + days)
  return at.toISOString().slice(0, 10)
}
