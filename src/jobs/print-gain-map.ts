import { gainMapMetadataIn, profileNames, writeGainMapJpeg } from '#core/formats'
import { brighterLight, decibels, gainMapBetween, lightOf16, percent } from '#picture/export'
import type { Host } from './contract/index.ts'
import { described, JPEG_QUALITY, LIBRARY, type Maker, sizeOf, xmpOf } from './print-made.ts'

/** A lost code of the map costs up to one percent of light: at 95 one sample in twenty would be off by 2.5 %, at 99 by 1.2 %. */
const MAP_QUALITY = 99

/** The ordinary print as a JPEG, and the map to its brighter rendition. */
export const hdrJpegFile: Maker = async (source, { quality }) => {
  const { codec } = source.host
  const image = await source.pixels.eight()
  const brighter = await source.pixels.brighter()
  const base = await codec.encodeBareJpeg({ ...image, channels: 3 }, quality ?? JPEG_QUALITY)
  // From the base as readers see it, so that the map gives back what the coding took.
  const seen = await codec.decode(base)
  const map = gainMapBetween({ ...image, data: seen.data }, brighter)
  const mapJpeg = await codec.encodeBareJpeg({ ...sizeOf(image), channels: 3, data: map.data }, MAP_QUALITY)
  const { metadata, kept } = described(source, image, image.space)
  const bytes = writeGainMapJpeg(base, mapJpeg, map.metadata, { ...metadata, about: xmpOf(source.facts) ?? {} })
  const white = 2 ** brighter.headroomStops
  const light = lightOf16()
  const { channels } = map.metadata
  return {
    ...sizeOf(image),
    bytes,
    profile: profileNames[image.space],
    kept,
    figures: {
      headroomStops: brighter.headroomStops,
      leastGainStops: Math.min(...channels.map((c) => c.min)),
      mostGainStops: Math.max(...channels.map((c) => c.max)),
    },
    reader: LIBRARY,
    async check(found) {
      const plain = decibels(image.data, (await codec.decode(found)).data, 255)
      if (!plain.ok) return plain
      const shown = await brighterIn(codec, found)
      return percent((i) => light[brighter.data[i]!]! * white, shown, brighter.data.length)
    },
  }
}

/**
 * The light of the brighter rendition as a reader of the file gets it: the map that the library finds, the numbers in the
 * map's own segment, and the standard's formula.
 */
async function brighterIn(codec: Host['codec'], file: Uint8Array): Promise<(i: number) => number> {
  const mapFile = await codec.gainMapIn(file)
  const gains = mapFile && gainMapMetadataIn(mapFile)
  if (!mapFile || !gains) return () => Number.NaN
  const [base, map] = [await codec.decode(file), await codec.decode(mapFile)]
  const same = map.width === base.width && map.height === base.height && map.channels === 3 && base.channels === 3
  return same ? brighterLight(base.data, map.data, gains) : () => Number.NaN
}
