import type { LeftOut } from '#core/base'
import { type Coordinates, placeAt, turn } from './geodesic.ts'
import type { Obstacle } from './obstacles.ts'
import { radians, type View } from './view.ts'

/** What a photograph of a daylight flight says about itself; null where it does not. */
export interface ReconPhoto {
  readonly file: string
  readonly position: Coordinates | null
  readonly relativeHeightMetres: number | null
  readonly gimbalYaw: number | null
  readonly gimbalPitch: number | null
  readonly takenAt: string | null
}

/** What the photographer says about a photograph: it shows the top of something, so far ahead (over ground), so wide. */
export interface ReconMark {
  readonly file: string
  readonly name: string
  readonly distanceMetres: number | null
  readonly radiusMetres: number | null
}

export interface ReconViewpoint extends View {
  readonly name: string
  readonly file: string
  readonly takenAt: string | null
}

export interface Recon {
  readonly viewpoints: readonly ReconViewpoint[]
  readonly obstacles: readonly Obstacle[]
  readonly leftOut: readonly LeftOut[]
}

/** A camera this near to level, in degrees, is level with what stands in the middle of its picture. */
export const LEVEL_DEGREES = 3

/** Barometric height above take-off: half a metre on a good day, two or more in gusts (common practice). */
const HEIGHT_ERROR_METRES = 2
/** A top looked at on the level is no farther than this; the photographer flies up to it. An assumption. */
const LEVEL_REACH_METRES = 50
/** How wrong a stated pitch and an estimated distance may be. Assumptions. */
const PITCH_ERROR_DEGREES = 1
const DISTANCE_ERROR = 0.1
const STEEPEST_DEGREES = 45

/**
 * Photographs of a recon flight as entries of a plan. One picture cannot say that something stands in the way: it is a viewpoint, unless
 * the photographer says that it shows a top, by a mark or by a file name like `obstacle-lime-tree.jpg` or `obstacle-mast-35m.jpg` (35 m
 * ahead). A top in the middle of a level picture is as high as the aircraft, ±4.6 m; with the distance, height + distance·tan(pitch).
 * Without the distance it is not known where it stands. What lacks a fact is left out with the reason.
 */
export function readRecon(photos: readonly ReconPhoto[], marks: readonly ReconMark[] = []): Recon {
  const viewpoints: ReconViewpoint[] = []
  const obstacles: Obstacle[] = []
  const leftOut: LeftOut[] = []
  const leave = (photo: ReconPhoto, reason: string, facts: LeftOut['facts'] = {}) =>
    leftOut.push({ what: photo.file, reason, facts })
  for (const photo of photos) {
    const mark = marks.find((m) => m.file === photo.file) ?? markInName(photo.file)
    const height = known(photo.relativeHeightMetres, -1000, 10_000)
    const pitch = known(photo.gimbalPitch, -90, 90)
    const yaw = known(photo.gimbalYaw, -720, 720)
    const position = placeOf(photo)
    if (height === null) leave(photo, 'recon-height-unknown')
    else if (pitch === null || (mark === null && yaw === null)) leave(photo, 'recon-direction-unknown')
    else if (mark !== null) {
      const obstacle = obstacleOf(mark, height, pitch, yaw, position)
      if (obstacle === null) leave(photo, 'recon-not-level', { pitch, level: LEVEL_DEGREES })
      else obstacles.push(obstacle)
    } else if (position === null) leave(photo, 'recon-position-unknown')
    else
      viewpoints.push({
        name: stem(photo.file),
        file: photo.file,
        takenAt: photo.takenAt,
        position,
        heightMetres: height,
        headingDegrees: turn(yaw!),
        tiltDegrees: pitch,
      })
  }
  return { viewpoints, obstacles, leftOut }
}

function obstacleOf(
  mark: ReconMark,
  height: number,
  pitch: number,
  yaw: number | null,
  position: Coordinates | null,
): Obstacle | null {
  const distance = known(mark.distanceMetres, 0, 2000)
  const common = { name: mark.name, radiusMetres: known(mark.radiusMetres, 0, 1000) ?? 0 }
  const tangent = Math.tan(radians(pitch))
  if (distance === null) {
    if (Math.abs(pitch) > LEVEL_DEGREES) return null
    const errorMetres = HEIGHT_ERROR_METRES + LEVEL_REACH_METRES * Math.tan(radians(LEVEL_DEGREES))
    return { ...common, position: null, heightMetres: height, errorMetres, source: `recon, ${mark.file}, level` }
  }
  if (Math.abs(pitch) > STEEPEST_DEGREES) return null
  const errorMetres =
    HEIGHT_ERROR_METRES +
    distance * radians(PITCH_ERROR_DEGREES) * (1 + tangent * tangent) +
    distance * DISTANCE_ERROR * Math.abs(tangent)
  return {
    ...common,
    // The distance is an estimate: the thing may stand that much nearer or farther.
    radiusMetres: common.radiusMetres + distance * DISTANCE_ERROR,
    position: position === null || yaw === null ? null : placeAt(position, yaw, distance),
    heightMetres: height + distance * tangent,
    errorMetres,
    source: `recon, ${mark.file}, ${distance} m ahead`,
  }
}

const stem = (file: string) => (file.split(/[/\\]/).pop() ?? file).replace(/\.[^.]*$/, '')

function markInName(file: string): ReconMark | null {
  const words = stem(file).split(/[-_ ]+/)
  if (words.length < 2 || words[0]!.toLowerCase() !== 'obstacle') return null
  const metres = /^(\d{1,4}(?:\.\d{1,2})?)m$/i.exec(words[words.length - 1]!)
  const name = words.slice(1, metres ? -1 : undefined).join(' ')
  return { file, name: name || stem(file), distanceMetres: metres ? Number(metres[1]) : null, radiusMetres: null }
}

/** The value when it is one; files may say anything. */
function known(value: number | null, low: number, high: number): number | null {
  return value !== null && value >= low && value <= high ? value : null
}

function placeOf({ position }: ReconPhoto): Coordinates | null {
  if (position === null) return null
  const { latitude, longitude } = position
  return Math.abs(latitude) <= 90 && Math.abs(longitude) <= 180 ? { latitude, longitude } : null
}
