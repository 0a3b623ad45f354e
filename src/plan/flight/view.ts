import type { Triple } from '#core/base'
import type { Coordinates } from './geodesic.ts'
import type { Lens } from './lens.ts'
import { angle, height, within } from './range.ts'

/** Where the camera hangs and where it looks: height in metres above take-off, heading from north through east, tilt −90 straight down. */
export interface View {
  readonly position: Coordinates
  readonly heightMetres: number
  readonly headingDegrees: number
  /** Up positive, level 0, down −90. The roll is taken as 0: the gimbal holds the horizon. */
  readonly tiltDegrees: number
}

/** A place in the frame: x right and y down from the outer corner of the top left pixel. */
export interface FramePoint {
  readonly xPixels: number
  readonly yPixels: number
}

/** The camera's own axes as unit vectors east, north, up. */
export interface Axes {
  readonly forward: Triple
  readonly right: Triple
  readonly up: Triple
}

export const radians = (degrees: number): number => (degrees * Math.PI) / 180
export const degrees = (radians: number): number => (radians * 180) / Math.PI

export const dot = (a: Triple, b: Triple): number => a[0] * b[0] + a[1] * b[1] + a[2] * b[2]

export function cross(a: Triple, b: Triple): Triple {
  return [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]
}

/** The angle between two directions of any length, exact for small and large angles alike. */
export const angleBetweenVectors = (a: Triple, b: Triple): number =>
  degrees(Math.atan2(Math.hypot(...cross(a, b)), dot(a, b)))

/** Unit vector east, north, up of an azimuth and an altitude in degrees. */
export function direction(azimuthDegrees: number, altitudeDegrees: number): Triple {
  const azimuth = radians(azimuthDegrees)
  const altitude = radians(altitudeDegrees)
  return [Math.cos(altitude) * Math.sin(azimuth), Math.cos(altitude) * Math.cos(azimuth), Math.sin(altitude)]
}

/** Looking straight down, the top of the picture is where the heading points. */
export function axesOf(view: View): Axes {
  height('heightMetres', view.heightMetres)
  angle('headingDegrees', view.headingDegrees)
  within('tiltDegrees', view.tiltDegrees, -90, 90)
  const forward = direction(view.headingDegrees, view.tiltDegrees)
  const heading = radians(view.headingDegrees)
  const right: Triple = [Math.cos(heading), -Math.sin(heading), 0]
  return { forward, right, up: cross(right, forward) }
}

/** The direction that a point of the frame looks in; not of unit length: 1 along the optical axis. */
export function rayOf(axes: Axes, lens: Lens, { xPixels, yPixels }: FramePoint): Triple {
  const x = (xPixels - lens.widthPixels / 2) / lens.focalPixels
  const y = (yPixels - lens.heightPixels / 2) / lens.focalPixelsDown
  const at = (i: 0 | 1 | 2) => axes.forward[i] + x * axes.right[i] - y * axes.up[i]
  return [at(0), at(1), at(2)]
}

/** Where a direction falls in the plane of the frame, inside or out; null when it lies beside or behind the camera. */
export function pointOf(axes: Axes, lens: Lens, ray: Triple): FramePoint | null {
  const ahead = dot(ray, axes.forward)
  if (!(ahead > 1e-9 * Math.hypot(...ray))) return null
  return {
    xPixels: lens.widthPixels / 2 + (lens.focalPixels * dot(ray, axes.right)) / ahead,
    yPixels: lens.heightPixels / 2 - (lens.focalPixelsDown * dot(ray, axes.up)) / ahead,
  }
}

export function inFrame(lens: Lens, point: FramePoint | null): boolean {
  if (point === null) return false
  const { xPixels: x, yPixels: y } = point
  return x >= 0 && x <= lens.widthPixels && y >= 0 && y <= lens.heightPixels
}

/** Top left, top right, bottom right, bottom left. */
export function cornersOf(lens: Lens): readonly [FramePoint, FramePoint, FramePoint, FramePoint] {
  const { widthPixels: w, heightPixels: h } = lens
  return [
    { xPixels: 0, yPixels: 0 },
    { xPixels: w, yPixels: 0 },
    { xPixels: w, yPixels: h },
    { xPixels: 0, yPixels: h },
  ]
}
