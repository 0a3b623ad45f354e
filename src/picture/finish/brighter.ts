import { luminanceOfZone, type Rung, toneCurve, zoneOfLuminance } from './curve.ts'
import type { PrintSettings } from './look.ts'

/** From this many stops under white the brighter rendition bends toward its own, higher white. */
const BEND_STOPS = -1
/** Rungs a stop: the curve between them follows the ordinary print's to a hundredth of a zone. */
const RUNGS_A_STOP = 4

/**
 * The look of the same print on a display that goes `headroomStops` above white: up to mid-grey it is the ordinary one;
 * above, the straight part of the ladder goes on where the ordinary one has its shoulder, and bends only under the
 * display's own white. Its zones count from that white: the print comes out darker by `headroomStops`, to be shown
 * brighter by as many.
 */
export function brighterLook(look: PrintSettings, headroomStops: number): PrintSettings {
  const { rungs } = look
  const curve = toneCurve(rungs)
  const [start, end] = [rungs[0]!.sceneStops, rungs[rungs.length - 1]!.sceneStops]
  const level = (stops: number) => Math.log2(Math.max(luminanceOfZone(curve(stops)), 2 ** -30))
  // The ladder's slope at the anchor, in print stops a scene stop.
  const anchor = Math.min(Math.max(0, start + 0.1), end - 0.1)
  const slope = (level(anchor + 0.05) - level(anchor - 0.05)) / 0.1
  const room = headroomStops - BEND_STOPS
  const bent = (stops: number) =>
    stops <= BEND_STOPS ? stops : BEND_STOPS + room * (1 - Math.exp((BEND_STOPS - stops) / room))
  const wanted = (stops: number) => {
    const ordinary = level(stops)
    return stops <= anchor ? ordinary : Math.max(ordinary, bent(level(anchor) + slope * (stops - anchor)))
  }
  const count = Math.max(2, Math.ceil((end - start) * RUNGS_A_STOP))
  const brighter: Rung[] = []
  let zone = -1
  for (let i = 0; i <= count; i++) {
    const sceneStops = start + ((end - start) * i) / count
    zone = Math.max(zone, zoneOfLuminance(2 ** (wanted(sceneStops) - headroomStops)))
    brighter.push({ sceneStops, zone: Math.min(zone, 10) })
  }
  return { ...look, rungs: brighter }
}
