import { decodeSrgb } from '#core/colour'
import type { GainMapMetadata } from '#core/formats'
import type { BrighterImage, PrintImage8 } from './print-image.ts'
import { lightOf16 } from './resize.ts'

/** Added to both lights before the ratio is taken, so that black has one; the usual value of the standard's examples. */
const OFFSET = 1 / 64

/** A range this narrow still has distinct codes, and no division by zero. */
const LEAST_RANGE_STOPS = 1 / 64

export interface GainMap {
  readonly metadata: GainMapMetadata
  /** width × height × 3 codes. */
  readonly data: Uint8Array
}

/** The map's code for a gain of `stops`: round(255 ((G − min) / (max − min))), gamma 1. */
export const gainCode = (stops: number, min: number, max: number): number =>
  Math.round(255 * Math.min(Math.max((stops - min) / (max - min), 0), 1))

/** log2((HDR + 1/64) / (SDR + 1/64)) of two linear lights, 1 = white of the base. */
export const gainStops = (base: number, brighter: number): number => Math.log2((brighter + OFFSET) / (base + OFFSET))

/**
 * The map that turns `base` into `brighter` (ISO 21496-1; three channels, full size). `base` is the picture as a reader
 * will decode it: what its coding lost, the map gives back. Both have the same size and space.
 */
export function gainMapBetween(base: PrintImage8, brighter: BrighterImage): GainMap {
  const low = Float32Array.from({ length: 256 }, (_, code) => Math.log2(decodeSrgb(code / 255) + OFFSET))
  const white = 2 ** brighter.headroomStops
  const high = lightOf16().map((light) => Math.log2(light * white + OFFSET))
  const count = base.data.length
  const channels = [0, 1, 2].map((c) => {
    let [min, max] = [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY]
    for (let i = c; i < count; i += 3) {
      const gain = high[brighter.data[i]!]! - low[base.data[i]!]!
      if (gain < min) min = gain
      if (gain > max) max = gain
    }
    // As written: in millionths.
    const written = (stops: number) => Math.round(stops * 1e6) / 1e6
    min = written(Math.min(min, 0))
    return { min, max: written(Math.max(max, min + LEAST_RANGE_STOPS)), gamma: 1 }
  })
  const data = new Uint8Array(count)
  channels.forEach(({ min, max }, c) => {
    const scale = 255 / (max - min)
    for (let i = c; i < count; i += 3) {
      data[i] = Math.round((high[brighter.data[i]!]! - low[base.data[i]!]! - min) * scale)
    }
  })
  return {
    data,
    metadata: {
      channels: channels.map((c) => ({ ...c, baseOffset: OFFSET, alternateOffset: OFFSET })),
      baseHeadroom: 0,
      alternateHeadroom: Math.round(brighter.headroomStops * 1e6) / 1e6,
    },
  }
}
