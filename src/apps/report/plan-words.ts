import { type PlanDocument, type PlanViewpoint, shutter } from '#jobs/contract'
import { figure } from './html.ts'

/** "17:31" of a local time with its offset. */
export const clockOf = (local: string): string => local.slice(11, 16)

/** "9 Feb 2027". */
export function cardDate(date: string): string {
  const [year, month, day] = date.split('-').map(Number)
  const months = ['Jan', 'Feb', 'Mar', 'Apr', 'May', 'Jun', 'Jul', 'Aug', 'Sep', 'Oct', 'Nov', 'Dec']
  return `${day} ${months[(month ?? 1) - 1]} ${year}`
}

/** The zone as its name and its distance from UTC in the evening: "Europe/Prague, UTC+1". */
export function zoneOf({ place, strip, events }: PlanDocument): string {
  const local = strip[0]?.local ?? events.find((e) => e.local)?.local
  const offset = local?.match(/([+-])(\d\d):(\d\d)$/)
  if (!offset) return place.timeZone
  const hours = Number(offset[2])
  const minutes = offset[3] === '00' ? '' : `:${offset[3]}`
  return `${place.timeZone}, UTC${offset[1] === '-' ? '−' : '+'}${hours}${minutes}`
}

/** "5 frames 1 stop apart, 1/8 s to 2 s, 9 s in all". */
export function cardBracket(bracket: PlanViewpoint['bracket']): string {
  const { frames, stepStops, shuttersSeconds, brackets, totalSeconds } = bracket
  if (frames <= 1) return 'one frame'
  const sets = brackets > 1 ? ` in ${brackets} brackets` : ''
  const step = `${figure(stepStops, stepStops % 1 === 0 ? 0 : 1)} stop${stepStops === 1 ? '' : 's'} apart`
  const span = `${shutter(Math.min(...shuttersSeconds))} to ${shutter(Math.max(...shuttersSeconds))}`
  return `${frames} frames${sets} ${step}, ${span}, ${Math.round(totalSeconds)} s in all`
}

/** The viewpoint that is nearest to its balance when it is reached: its minute is the evening's. */
export function bestView({ viewpoints }: PlanDocument): PlanViewpoint | undefined {
  const off = (v: PlanViewpoint) => Math.abs(Date.parse(v.balanceLocal!) - Date.parse(v.arriveLocal))
  return viewpoints.filter((v) => v.balanceLocal !== null).sort((a, b) => off(a) - off(b))[0]
}
