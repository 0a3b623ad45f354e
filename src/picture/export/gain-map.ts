import { decodeSrgb } from '#core/colour'
import type { GainMapMetadata } from '#core/formats'
import type { BrighterImage, PrintImage8 } from './print-image.ts'
import { lightOf16 } from './resize.ts'

/** Added to both lights before the ratio is taken, so that black has one; the usual value of the standard's examples. */
const OFFSET = 1 / 64

/** Gains are counted in 64ths of a stop, within this many stops of none: halves of the range of any print of 8 bits. */
const RANGE_STOPS = 12
const BINS_A_STOP = 64
/**
 * This share of a channel's samples may lie outside the map's range, on either side: the finer steps are worth more to all
 * others than the last of their gain is to them.
 */
const STRAY_SHARE = 1e-4

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
    const bins = new Uint32Array(2 * RANGE_STOPS * BINS_A_STOP)
    for (let i = c; i < count; i += 3) {
      const gain = high[brighter.data[i]!]! - low[base.data[i]!]!
      bins[Math.floor(Math.min(Math.max(gain + RANGE_STOPS, 0), 2 * RANGE_STOPS - 0.001) * BINS_A_STOP)]!++
    }
    const stray = (count / 3) * STRAY_SHARE
    let first = 0
    for (let n = bins[0]!; n <= stray && first < bins.length - 1; n += bins[first]!) first++
    let last = bins.length - 1
    for (let n = bins[last]!; n <= stray && last > first; n += bins[last]!) last--
    const min = Math.min(first / BINS_A_STOP - RANGE_STOPS, 0)
    return { min, max: Math.max((last + 1) / BINS_A_STOP - RANGE_STOPS, min + 1 / BINS_A_STOP), gamma: 1 }
  })
  const data = new Uint8Array(count)
  channels.forEach(({ min, max }, c) => {
    const scale = 255 / (max - min)
    for (let i = c; i < count; i += 3) {
      const code = (high[brighter.data[i]!]! - low[base.data[i]!]! - min) * scale
      data[i] = Math.round(Math.min(Math.max(code, 0), 255))
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
