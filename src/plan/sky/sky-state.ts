import { type Direction, type MoonState, moonAt, sunAt } from './bodies.ts'
import { type Instant, MINUTE } from './clock.ts'
import { type Cloud, cloudDivisors, naturalLight, skyglowLux } from './illuminance.ts'
import type { Place } from './place.ts'
import { type SkyView, skyLuminance } from './sky-luminance.ts'

/** What of a site and its weather changes the light. */
export interface SkyConditions {
  readonly cloud: Cloud
  readonly skyglowMagnitudes: number | null
}

export interface SkyMoment {
  readonly at: Instant
  readonly sun: Direction
  readonly moon: MoonState
}

/** Ephemeris steps; the positions between come from a cubic through four of them. */
const STEP = 10 * MINUTE

/**
 * Sun and moon as a function of time over a span. The ephemeris is asked every ten minutes; between, unit vectors are
 * interpolated by a cubic: within 0.001° of the ephemeris, and some ten times quicker.
 */
export function skyCourse(place: Place, from: Instant, to: Instant): (at: Instant) => SkyMoment {
  const first = Math.floor(from / STEP) - 1
  const count = Math.ceil(to / STEP) + 2 - first
  const knots = Array.from({ length: Math.max(4, count + 1) }, (_, i) => {
    const at = (first + i) * STEP
    const [sun, moon] = [sunAt(place, at), moonAt(place, at)]
    return { sun: vectorOf(sun), moon: vectorOf(moon), state: moon }
  })
  return (at) => {
    const position = at / STEP - first
    const i = Math.min(knots.length - 3, Math.max(1, Math.floor(position)))
    const weights = cubic(position - i)
    const around = [knots[i - 1]!, knots[i]!, knots[i + 1]!, knots[i + 2]!] as const
    const blend = (of: (k: (typeof knots)[number]) => Vector): Direction =>
      directionOf(around.reduce<Vector>((sum, k, j) => add(sum, of(k), weights[j]!), [0, 0, 0]))
    const near = position - i < 0.5 ? around[1].state : around[2].state
    return { at, sun: blend((k) => k.sun), moon: { ...near, ...blend((k) => k.moon) } }
  }
}

type Vector = readonly [number, number, number]
const radians = (degrees: number) => (degrees * Math.PI) / 180
const add = (a: Vector, b: Vector, w: number): Vector => [a[0] + w * b[0], a[1] + w * b[1], a[2] + w * b[2]]

function vectorOf({ altitude, azimuth }: Direction): Vector {
  const [h, a] = [radians(altitude), radians(azimuth)]
  return [Math.cos(h) * Math.cos(a), Math.cos(h) * Math.sin(a), Math.sin(h)]
}

function directionOf([x, y, z]: Vector): Direction {
  const azimuth = (Math.atan2(y, x) * 180) / Math.PI
  return { altitude: (Math.atan2(z, Math.hypot(x, y)) * 180) / Math.PI, azimuth: (azimuth + 360) % 360 }
}

/** Lagrange's weights for four knots at −1, 0, 1, 2. */
const cubic = (t: number): readonly [number, number, number, number] => [
  (-t * (t - 1) * (t - 2)) / 6,
  ((t + 1) * (t - 1) * (t - 2)) / 2,
  (-(t + 1) * t * (t - 2)) / 2,
  ((t + 1) * t * (t - 1)) / 6,
]

/** Light on level ground at a moment. */
export const lightAt = ({ sun, moon }: SkyMoment, { cloud, skyglowMagnitudes }: SkyConditions) =>
  naturalLight({ sunAltitude: sun.altitude, moon, cloud, skyglowLux: skyglowLux(skyglowMagnitudes) })

const viewOf = ({ sun, moon }: SkyMoment, { cloud, skyglowMagnitudes }: SkyConditions): SkyView => ({
  sun,
  moon,
  skyglowMagnitudes,
  cloudDivisor: cloudDivisors[cloud],
})

/** How high above the horizon a picture's sky is taken to be: what stands above a skyline in a wide picture. */
export const PICTURE_SKY_ALTITUDE = 12

/**
 * Luminance of the sky of a picture, cd/m²: a little above the horizon in the direction one looks; without a direction the
 * mean of eight around the compass.
 */
export function pictureSkyLuminance(
  moment: SkyMoment,
  conditions: SkyConditions,
  headingDegrees: number | null,
): number {
  const view = viewOf(moment, conditions)
  const toward = (azimuth: number) => skyLuminance(view, { altitude: PICTURE_SKY_ALTITUDE, azimuth })
  if (headingDegrees !== null) return toward(headingDegrees)
  let sum = 0
  for (let k = 0; k < 8; k++) sum += toward(moment.sun.azimuth + 22.5 + 45 * k)
  return sum / 8
}
