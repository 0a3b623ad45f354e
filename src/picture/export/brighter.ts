import { decodeSrgb } from '#core/colour'
import type { GainMapMetadata } from '#core/formats'

/**
 * The linear light of each sample on a display that shows the whole gain, by the formula of ISO 21496-1, from the codes of
 * base and map as decoded (three samples a pixel, the same size). It knows nothing of how a map is made.
 */
export function brighterLight(
  base: Uint8Array,
  map: Uint8Array,
  { channels }: GainMapMetadata,
): (sample: number) => number {
  const gain = [0, 1, 2].map((c) => {
    const { min, max, gamma } = channels[c] ?? channels[0]!
    return Float64Array.from({ length: 256 }, (_, code) => 2 ** (min + (max - min) * (code / 255) ** (1 / gamma)))
  })
  const offset = (c: number) => channels[c] ?? channels[0]!
  const light = [0, 1, 2].map((c) =>
    Float64Array.from({ length: 256 }, (_, code) => decodeSrgb(code / 255) + offset(c).baseOffset),
  )
  const below = [0, 1, 2].map((c) => offset(c).alternateOffset)
  return (i) => {
    const c = i % 3
    return light[c]![base[i]!]! * gain[c]![map[i]!]! - below[c]!
  }
}
