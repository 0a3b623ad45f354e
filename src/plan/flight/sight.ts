import type { Triple } from '#core/base'
import { type Coordinates, wayBetween } from './geodesic.ts'
import { EARTH_RADIUS_METRES } from './horizon.ts'
import type { Lens } from './lens.ts'
import { angle, height, within } from './range.ts'
import {
  type Axes,
  angleBetweenVectors,
  axesOf,
  cornersOf,
  cross,
  degrees,
  direction,
  dot,
  type FramePoint,
  inFrame,
  pointOf,
  rayOf,
  type View,
} from './view.ts'

/** Something worth having in the picture: a name, a place, and the height of its middle above take-off. */
export interface Target {
  readonly name: string
  readonly position: Coordinates
  readonly heightMetres: number
}

export interface TargetSight {
  readonly name: string
  readonly bearingDegrees: number
  /** Below level; negative for something higher than the camera. */
  readonly depressionDegrees: number
  readonly groundDistanceMetres: number
  readonly slantMetres: number
  readonly inFrame: boolean
  /** Null when it lies beside or behind the camera. */
  readonly point: FramePoint | null
  /** Pixels to one metre of a thing that stands square to the lens's axis there: F/depth. Null as `point`. */
  readonly pixelsPerMetre: number | null
}

/** Of the bending of light in ordinary air over land, as surveyors take it: 0.13 of the earth's curve (common practice). */
const REFRACTION = 0.13

/**
 * A target as seen from a view. What the earth's curve, less the bending of light, takes from a far thing's height is counted:
 * d²·(1 − 0.13)/2R, 7 cm at 1 km and 1.7 m at 5 km.
 */
export function sightOf(target: Target, view: View, lens: Lens): TargetSight {
  const axes = axesOf(view)
  height('targetHeightMetres', target.heightMetres)
  const way = wayBetween(view.position, target.position)
  // Beyond 200 km the rule of thumb for the curve is no longer one, and nothing is seen.
  const distance = within('targetDistanceMetres', way.distanceMetres, 0, 200_000)
  const drop = (distance ** 2 * (1 - REFRACTION)) / (2 * EARTH_RADIUS_METRES)
  const rise = target.heightMetres - view.heightMetres - drop
  const [east, north] = direction(way.azimuthDegrees, 0)
  const ray: Triple = [east * distance, north * distance, rise]
  const point = pointOf(axes, lens, ray)
  return {
    name: target.name,
    bearingDegrees: way.azimuthDegrees,
    depressionDegrees: degrees(Math.atan2(-rise, distance)),
    groundDistanceMetres: distance,
    slantMetres: Math.hypot(...ray),
    inFrame: inFrame(lens, point),
    point,
    pixelsPerMetre: point && lens.focalPixels / dot(ray, axes.forward),
  }
}

export interface BodySight {
  /** From the optical axis, 0 to 180°. */
  readonly offAxisDegrees: number
  /** To the right of the heading (negative: left), −180 to 180°, along the horizon. */
  readonly rightOfHeadingDegrees: number
  /** Above the tilt of the camera. */
  readonly aboveTiltDegrees: number
  readonly inFrame: boolean
  readonly point: FramePoint | null
  /** How far outside the nearest edge of the frame, as an angle; 0 inside it. */
  readonly outsideDegrees: number
}

/** Sun or moon against the frame; its azimuth and altitude (of its middle) come from the ephemeris. */
export function bodyInFrame(
  body: { azimuthDegrees: number; altitudeDegrees: number },
  view: View,
  lens: Lens,
): BodySight {
  const axes = axesOf(view)
  angle('azimuthDegrees', body.azimuthDegrees)
  within('altitudeDegrees', body.altitudeDegrees, -90, 90)
  const ray = direction(body.azimuthDegrees, body.altitudeDegrees)
  const point = pointOf(axes, lens, ray)
  const inside = inFrame(lens, point)
  const right = (((body.azimuthDegrees - view.headingDegrees + 180) % 360) + 360) % 360
  return {
    offAxisDegrees: angleBetweenVectors(ray, axes.forward),
    rightOfHeadingDegrees: right - 180,
    aboveTiltDegrees: body.altitudeDegrees - view.tiltDegrees,
    inFrame: inside,
    point,
    outsideDegrees: inside ? 0 : angleFromFrame(ray, axes, lens),
  }
}

/** The smallest angle from a direction to the frame's four edges: each is an arc of a great circle between two corners. */
function angleFromFrame(ray: Triple, axes: Axes, lens: Lens): number {
  const corners = cornersOf(lens).map((corner) => rayOf(axes, lens, corner))
  let least = 180
  for (let i = 0; i < 4; i++) {
    const a = corners[i]!
    const b = corners[(i + 1) % 4]!
    const pole = cross(a, b)
    const beside = dot(ray, cross(pole, a)) > 0 && dot(ray, cross(b, pole)) > 0
    const apart = beside
      ? Math.abs(90 - angleBetweenVectors(ray, pole))
      : Math.min(angleBetweenVectors(ray, a), angleBetweenVectors(ray, b))
    least = Math.min(least, apart)
  }
  return least
}
