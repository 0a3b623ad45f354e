/** Numbers as people read them: units always, a true minus sign, no more digits than matter. */

export const signed = (value: number, digits: number): string =>
  `${value < 0 ? '−' : ''}${Math.abs(value).toFixed(digits)}`.replace(/^−(0(\.0+)?)$/, '$1')

export const count = (n: number, one: string, many = `${one}s`): string => `${n} ${n === 1 ? one : many}`

export const stops = (value: number): string => `${signed(value, 1)} stop${Math.abs(value - 1) < 0.05 ? '' : 's'}`

/** Seconds of waiting: "8 s", "3 min 20 s". */
export function duration(seconds: number): string {
  if (seconds < 9.95) return `${seconds.toFixed(1)} s`
  const whole = Math.round(seconds)
  return whole < 60 ? `${whole} s` : `${Math.floor(whole / 60)} min ${whole % 60} s`
}

/** The camera's own clock, which is local time where it was set right: "9 Feb 2027, 17:41:03". */
export function cameraTime(camera: string | null): string {
  const parts = camera?.match(/^(\d{4})-(\d\d)-(\d\d)T(\d\d:\d\d:\d\d)/)
  if (!parts) return 'no time'
  const months = ['Jan', 'Feb', 'Mar', 'Apr', 'May', 'Jun', 'Jul', 'Aug', 'Sep', 'Oct', 'Nov', 'Dec']
  return `${Number(parts[3])} ${months[Number(parts[2]) - 1] ?? parts[2]} ${parts[1]}, ${parts[4]}`
}

export function bytes(n: number): string {
  if (n < 1000) return `${n} B`
  const units = ['kB', 'MB', 'GB', 'TB']
  let value = n
  let unit = -1
  while (value >= 999.5 && unit < units.length - 1) {
    value /= 1000
    unit++
  }
  return `${value < 9.95 ? value.toFixed(1) : value.toFixed(0)} ${units[unit]}`
}
