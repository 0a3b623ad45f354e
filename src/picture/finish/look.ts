import { luminanceOfZone, type Rung, stopsAtZone, zoneOfLuminance } from './curve.ts'
import type { Scene, SceneStatistics } from './scene.ts'

/** How a print is made: plain data, kept in the print's record. */
export interface PrintSettings {
  /** log2 of the radiance that prints as zone 5. */
  readonly anchorStops: number
  /** Share of the base's contrast taken away, 0 none … 0.9. */
  readonly baseCompression: number
  /** The tone ladder, ascending. */
  readonly rungs: readonly Rung[]
  /** From this zone up lamps turn toward white, at zone 10 by the share `most`. */
  readonly lampWhite: { readonly fromZone: number; readonly most: number }
  /** Chroma variance counted as noise = scale · Y + offset, linear radiance squared. */
  readonly chromaNoise: { readonly scale: number; readonly offset: number }
}

export interface SceneFacts {
  /** Luminance of radiance 1.0, when the exposure of the reference frame is known; then night is known, not guessed. */
  readonly candelaPerSquareMetrePerUnit?: number | null
}

const clamp = (v: number, low: number, high: number) => Math.min(Math.max(v, low), high)
function smoothstep(from: number, to: number, v: number): number {
  const t = clamp((v - from) / (to - from), 0, 1)
  return t * t * (3 - 2 * t)
}

/** Contrast of the straight part: print stops per scene stop. */
const CONTRAST = 1.12
/** Stops that the picture's middle 96 % should span before the tone curve. */
const COMFORTABLE_RANGE_STOPS = 6
const MOST_COMPRESSION = 0.5
/** Deeper shadows than this under the median are black in any print: they do not ask for compression. */
const DEEPEST_OPENED_STOPS = 4
/** A dark picture without bright lights is printed brighter, until its brightest 2 % stand this far above the anchor. */
const LIT_STOPS = 0.8
const MOST_BRIGHTENING = 0.35
/** By day the median's luminance is placed, which in a colourful scene lies under the norm; most stops given for it. */
const MOST_FOR_COLOUR = 0.8
/** Stops from the anchor to white. */
const SHORTEST_SHOULDER = 2.2
const LONGEST_SHOULDER = 9
/** Zone of the median cell by day and by night. */
const DAY_ZONE = 4.8
const NIGHT_ZONE = 2.7
/** Luminance of zone 5: CIE L* = 50. */
const MID_GREY = luminanceOfZone(5)
/** Where the darkest cells should come, and the most zones they are taken down for it: fog stays fog. */
const BLACK_ZONE = 0.6
const MOST_DEEPENING = 0.9

/** 0 day … 1 night. */
function nightness(s: SceneStatistics, facts: SceneFacts): number {
  const scale = facts.candelaPerSquareMetrePerUnit
  if (scale != null && scale > 0) return 1 - smoothstep(0, 8, s.p50 + Math.log2(scale))
  // Without a known scale: night is a dark field with few, very bright lamps.
  return smoothstep(3, 8, (s.p999 + s.peak) / 2 - s.p50)
}

/**
 * The ladder for a scene whose brightest light stands `whiteStops` above the anchor and whose blacks stand at
 * `blackStops`: straight in density, a toe that takes the blacks down to BLACK_ZONE if they are not far above it, and a
 * shoulder as long as the lamps need.
 */
export function ladder(blackStops: number, whiteStops: number): Rung[] {
  const straight = (stops: number) => zoneOfLuminance(MID_GREY * 2 ** (CONTRAST * stops))
  const black = straight(Math.min(blackStops, -1))
  const deepen = clamp(black - BLACK_ZONE, 0, MOST_DEEPENING) / (1 - black / 5) ** 2
  const below = [-9, -7, -5.5, -4.5, -3.5, -2.75, -2, -1.25, -0.6].map((sceneStops) => {
    const zone = straight(sceneStops)
    return { sceneStops, zone: Math.max(zone - deepen * (1 - zone / 5) ** 2, BLACK_ZONE * 2 ** sceneStops) }
  })
  // Above: 10 − 5 (1 − x/w)^p leaves zone 5 with the slope of the straight part and arrives flat at the last stop.
  const slope = (straight(0.01) - straight(0)) * 100
  const power = Math.max(1, (slope * whiteStops) / 5)
  const above = [0, 0.08, 0.17, 0.27, 0.4, 0.55, 0.75, 1].map((part) => ({
    sceneStops: part * whiteStops,
    zone: 10 - 5 * (1 - part) ** power,
  }))
  return [{ sceneStops: -11, zone: 0 }, ...below, ...above]
}

/** The default look. Adding k stops to the whole scene adds k to the anchor and changes nothing else. */
export function chooseLook(scene: Scene, facts: SceneFacts = {}): PrintSettings {
  const s = scene.statistics
  const night = nightness(s, facts)
  const range = s.p98 - Math.max(s.p02, s.p50 - DEEPEST_OPENED_STOPS)
  const baseCompression = clamp(1 - COMFORTABLE_RANGE_STOPS / range, 0, MOST_COMPRESSION)
  const zone = DAY_ZONE + night * (NIGHT_ZONE - DAY_ZONE)
  const middle = s.p50 - (1 - night) * clamp(s.p50 - s.middleLuminance, 0, MOST_FOR_COLOUR)
  const top = Math.max(s.peak, s.p999)
  // A bright subject by day has its white near the top of the print, wherever the median is.
  const bright = top - SHORTEST_SHOULDER + night * 20
  // The ladder's ends depend on the anchor and the anchor on the ladder; a dozen rounds settle it.
  let anchorStops = Math.min(middle + 2, bright)
  let rungs = ladder(-6, 4)
  const shown = (stops: number) => (stops - anchorStops) * (1 - baseCompression)
  for (let i = 0; i < 12; i++) {
    rungs = ladder(
      shown(s.p005),
      clamp((top - anchorStops) * (1 - baseCompression / 2), SHORTEST_SHOULDER, LONGEST_SHOULDER),
    )
    anchorStops = Math.min(middle - stopsAtZone(rungs, zone) / (1 - baseCompression), bright)
  }
  anchorStops = Math.max(Math.min(anchorStops, s.p98 - LIT_STOPS), anchorStops - MOST_BRIGHTENING)
  return {
    anchorStops,
    baseCompression,
    rungs,
    lampWhite: { fromZone: 8.6, most: 0.9 },
    chromaNoise: { scale: s.noiseScale, offset: s.noiseOffset },
  }
}
