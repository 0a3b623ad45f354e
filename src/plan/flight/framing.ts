import type { Triple } from '#core/base'
import { type Coordinates, type Offset, placeAtOffset } from './geodesic.ts'
import { horizonDipDegrees } from './horizon.ts'
import type { Lens } from './lens.ts'
import { height } from './range.ts'
import { axesOf, cornersOf, type FramePoint, rayOf, type View } from './view.ts'

/** A point of level ground that the frame shows: metres from the spot under the camera, and as coordinates. */
export interface GroundPoint extends Offset {
  readonly distanceMetres: number
  readonly coordinates: Coordinates
}

/** Metres of ground that one pixel covers, across and along the view. */
export interface GroundSampling {
  readonly acrossMetres: number
  readonly alongMetres: number
}

/** Why there is no ground at a place of the frame. */
export type NoGround = 'above-the-horizon' | 'not-over-the-ground'

export interface Footprint {
  readonly heightOverGroundMetres: number
  /** Top left, top right, bottom right, bottom left; null where the frame's corner looks over the horizon. */
  readonly corners: readonly [GroundPoint | null, GroundPoint | null, GroundPoint | null, GroundPoint | null]
  /** Middle of the frame, of its upper and of its lower edge. */
  readonly centre: GroundPoint | null
  readonly topEdge: GroundPoint | null
  readonly bottomEdge: GroundPoint | null
  /** From the camera to the ground in the middle of the frame. */
  readonly slantMetres: number | null
  readonly samplingAtCentre: GroundSampling | null
  /** Straight below the camera, were it to look there. */
  readonly samplingAtNadir: GroundSampling | null
  /** Why something is null, or null when nothing is. */
  readonly without: NoGround | null
}

/**
 * The frame on level ground: ray ∩ plane (common practice); at the centre one pixel covers slant/F across and that over sin(depression)
 * along; at the nadir height/F both ways. `groundHeightMetres` is the ground there, above take-off. Rays that come down less
 * steeply than the horizon's geometric dip meet no ground on a round earth and give null.
 */
export function footprintOf(view: View, lens: Lens, groundHeightMetres = 0): Footprint {
  const axes = axesOf(view)
  const over = view.heightMetres - height('groundHeightMetres', groundHeightMetres)
  const flattest = Math.tan((horizonDipDegrees(Math.max(over, 0)) * Math.PI) / 180)
  const ground = (point: FramePoint): GroundPoint | null => {
    if (!(over > 0)) return null
    const [east, north, up]: Triple = rayOf(axes, lens, point)
    const level = Math.hypot(east, north)
    if (!(-up > flattest * level)) return null
    const offset = { eastMetres: (east * over) / -up, northMetres: (north * over) / -up }
    return {
      ...offset,
      distanceMetres: Math.hypot(offset.eastMetres, offset.northMetres),
      coordinates: placeAtOffset(view.position, offset),
    }
  }
  const middle = { xPixels: lens.widthPixels / 2, yPixels: lens.heightPixels / 2 }
  const [a, b, c, d] = cornersOf(lens)
  const corners = [ground(a), ground(b), ground(c), ground(d)] as const
  const centre = ground(middle)
  const topEdge = ground({ ...middle, yPixels: 0 })
  const bottomEdge = ground({ ...middle, yPixels: lens.heightPixels })
  const slantMetres = centre && Math.hypot(centre.distanceMetres, over)
  const all = [...corners, centre, topEdge, bottomEdge]
  return {
    heightOverGroundMetres: over,
    corners,
    centre,
    topEdge,
    bottomEdge,
    slantMetres,
    samplingAtCentre: slantMetres === null ? null : samplingAt(slantMetres, over, lens),
    samplingAtNadir: over > 0 ? samplingAt(over, over, lens) : null,
    without: !(over > 0) ? 'not-over-the-ground' : all.includes(null) ? 'above-the-horizon' : null,
  }
}

function samplingAt(slant: number, over: number, lens: Lens): GroundSampling {
  return { acrossMetres: slant / lens.focalPixels, alongMetres: (slant * slant) / over / lens.focalPixelsDown }
}

/** Where the horizon crosses the middle column of the frame, in pixels from its top; null when it is not before the camera. */
export interface HorizonInFrame {
  readonly rowPixels: number | null
  readonly inFrame: boolean
  /** How far the horizon lies above the middle of the frame; negative when below it. */
  readonly aboveCentreDegrees: number
}

/** The level line (dip 0), or the horizon of the sea under the same height when its dip is given. */
export function horizonInFrame(view: View, lens: Lens, dipDegrees = 0): HorizonInFrame {
  axesOf(view)
  const above = 0 - dipDegrees - view.tiltDegrees
  const rowPixels =
    Math.abs(above) < 89.99 ? lens.heightPixels / 2 - lens.focalPixelsDown * Math.tan((above * Math.PI) / 180) : null
  return {
    rowPixels,
    inFrame: rowPixels !== null && rowPixels >= 0 && rowPixels <= lens.heightPixels,
    aboveCentreDegrees: above,
  }
}
