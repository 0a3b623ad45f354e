import { srgbToXyzD50, xyzD65ToSrgb } from '#core/colour'
import {
  gainMapMetadataIn,
  linearSrgbChromaticities,
  profileNames,
  readExr,
  rgbProfile,
  writeExr,
  writeGainMapJpeg,
  writeLinearDng,
  writeXmp,
} from '#core/formats'
import type { Arena } from '#core/kernels'
import { halfFromFloat } from '#core/kernels'
import {
  brighterLight,
  type Difference,
  decibels,
  exactly,
  exifBlock,
  exifFieldsOf,
  gainMapBetween,
  keptFacts,
  lightOf16,
  linearSamples,
  type PrintFacts,
  type PrintSpace,
  percent,
  resizePlane,
  type Size,
  sizeWithin,
} from '#picture/export'
import type { RadiancePlanes } from '#picture/finish'
import { describeRaw } from '#picture/raw'
import type { FileSettings, Host, PictureMetadata, Pixels8, PrintFormat } from './contract/index.ts'
import type { PrintPixels } from './print-pixels.ts'

/** What a file of a print is made from. */
export interface FileSource {
  readonly host: Host
  readonly arena: Arena
  readonly planes: RadiancePlanes
  readonly pixels: PrintPixels
  readonly facts: PrintFacts
  readonly candelaPerSquareMetrePerUnit: number | null
}

/** A file's bytes and how to tell, from the bytes that are on disk in the end, whether its pixels are the ones meant. */
export interface MadeFile extends Size {
  readonly bytes: Uint8Array
  readonly profile: string
  readonly kept: readonly string[]
  readonly figures: Readonly<Record<string, number>>
  readonly reader: string
  check(found: Uint8Array): Promise<Difference>
}

/** Visually free of coding errors at the largest size that is printed; see docs/decisions/0004-look.md. */
export const JPEG_QUALITY = 92
/** About the error of that JPEG at half its bytes. */
export const AVIF_QUALITY = 80
/** A lost code of the map costs up to one percent of light: at 95 one sample in twenty would be off by 2.5 %, at 99 by 1.2 %. */
const MAP_QUALITY = 99

/** Quality that a format takes when none is asked for; null where it loses nothing. */
export const usualQuality = (format: PrintFormat): number | null =>
  format === 'jpeg' || format === 'hdr-jpeg' ? JPEG_QUALITY : format === 'avif' ? AVIF_QUALITY : null

export const endings: Readonly<Record<PrintFormat, string>> = {
  jpeg: '.jpg',
  'hdr-jpeg': '.hdr.jpg',
  avif: '.avif',
  tiff: '.tif',
  png: '.png',
  exr: '.exr',
  dng: '.dng',
}

const LIBRARY = 'picture library'

/** The texts once more as XMP, which knows languages and letters of all kinds; null when there are none. */
function xmpOf(
  facts: PrintFacts,
): { creator: string | null; rights: string | null; description: string | null } | null {
  const { artist, copyright, caption } = facts
  return artist || copyright || caption ? { creator: artist, rights: copyright, description: caption } : null
}

interface Described {
  readonly metadata: PictureMetadata
  readonly kept: readonly string[]
}

function described(source: FileSource, size: Size, space: PrintSpace): Described {
  const block = exifBlock(source.facts, { ...size, space, software: softwareOf(source.host) })
  const about = xmpOf(source.facts)
  return {
    metadata: { exif: block.bytes, icc: rgbProfile(space), xmp: about && writeXmp(about) },
    kept: block.kept,
  }
}

const softwareOf = (host: Host) => `Duskwork ${host.version}`

type Maker = (source: FileSource, settings: FileSettings) => Promise<MadeFile>

const jpegFile =
  (copy: ((pixels: Pixels8) => Promise<void>) | null): Maker =>
  async (source, { quality }) => {
    const { codec } = source.host
    const image = await source.pixels.eight()
    const { metadata, kept } = described(source, image, image.space)
    const pixels: Pixels8 = { ...image, channels: 3 }
    // Both are done with the pixels before the memory goes back, whichever fails.
    const coded = codec.encodeJpeg(pixels, quality ?? JPEG_QUALITY, metadata)
    const [jpeg, copied] = await Promise.allSettled([coded, copy?.(pixels) ?? Promise.resolve()])
    if (jpeg.status === 'rejected') throw jpeg.reason
    if (copied.status === 'rejected') throw copied.reason
    return {
      ...sizeOf(image),
      bytes: jpeg.value,
      profile: profileNames[image.space],
      kept,
      figures: {},
      reader: LIBRARY,
      check: async (found) => decibels(image.data, (await codec.decode(found)).data, 255),
    }
  }

const hdrJpegFile: Maker = async (source, { quality }) => {
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

const losslessFile =
  (format: 'tiff' | 'png'): Maker =>
  async (source) => {
    const { codec } = source.host
    const image = await source.pixels.sixteen()
    const { metadata, kept } = described(source, image, image.space)
    const bytes = await (format === 'tiff' ? codec.encodeTiff16(image, metadata) : codec.encodePng16(image, metadata))
    return {
      ...sizeOf(image),
      bytes,
      profile: profileNames[image.space],
      kept,
      figures: {},
      reader: LIBRARY,
      check: async (found) => exactly(image.data, (await codec.decode16(found)).data),
    }
  }

const avifFile: Maker = async (source, { quality }) => {
  const { codec } = source.host
  const image = await source.pixels.sixteen()
  const { metadata, kept } = described(source, image, image.space)
  return {
    ...sizeOf(image),
    bytes: await codec.encodeAvif(image, quality ?? AVIF_QUALITY, image.space, metadata),
    profile: profileNames[image.space],
    kept,
    figures: {},
    reader: LIBRARY,
    check: async (found) => decibels(image.data, (await codec.decode16(found)).data, 65_535),
  }
}

const sizeOf = ({ width, height }: Size): Size => ({ width, height })

/** The radiance itself at the size wanted, rows close together. */
function lightPlanes({ arena, planes }: FileSource, longSidePixels: number | null) {
  const size = sizeWithin(planes, longSidePixels)
  const close = (at: number): Float32Array => {
    const all = arena.f32(at, planes.stride * planes.height)
    if (planes.stride === planes.width) return all
    const out = new Float32Array(planes.width * planes.height)
    for (let y = 0; y < planes.height; y++)
      out.set(all.subarray(y * planes.stride, y * planes.stride + planes.width), y * planes.width)
    return out
  }
  const [r, g, b] = [planes.r, planes.g, planes.b].map((at) => resizePlane(close(at), planes, size))
  return { size, planes: [r!, g!, b!] as const }
}

const exrFile: Maker = async (source, { longSidePixels }) => {
  const { facts, candelaPerSquareMetrePerUnit: candela } = source
  const { size, planes } = lightPlanes(source, longSidePixels)
  const halves = planes.map((plane) => Uint16Array.from(plane, halfFromFloat))
  const { attributes, kept } = exrAttributes(facts)
  const bytes = writeExr({
    ...size,
    channels: ['R', 'G', 'B'].map((name, c) => ({ name, samples: halves[c]! })),
    chromaticities: linearSrgbChromaticities,
    ...(candela === null ? {} : { whiteLuminance: candela }),
    attributes: { ...attributes, software: softwareOf(source.host) },
  })
  return {
    ...size,
    bytes,
    profile: profileNames['linear-srgb'],
    kept: [...kept, 'software'],
    figures: {},
    reader: 'own reader of OpenEXR',
    async check(found) {
      const { channels } = readExr(found)
      const of = (name: string) => channels.find((c) => c.name === name)?.samples ?? []
      const each = ['R', 'G', 'B'].map((name, c) => exactly(halves[c]!, of(name)))
      return each.find((d) => !d.ok) ?? each[0]!
    },
  }
}

/** The standard's optional attributes (OpenEXR, "Standard attributes"): exposure in seconds, capDate by the local clock. */
function exrAttributes(facts: PrintFacts) {
  const attributes: Record<string, string | number> = {}
  const kept: string[] = []
  const put = (name: string, fact: string, value: string | number | null) => {
    if (value === null || value === '') return
    attributes[name] = value
    kept.push(fact)
  }
  put('expTime', 'exposure-time', facts.exposureSeconds)
  put('aperture', 'f-number', facts.fNumber)
  put('isoSpeed', 'iso', facts.iso)
  const time = /^(\d{4})-(\d{2})-(\d{2})T(\d{2}:\d{2}:\d{2})/.exec(facts.takenAtCamera ?? '')
  put('capDate', 'date', time && `${time[1]}:${time[2]}:${time[3]} ${time[4]}`)
  // Of the standard: UTC = local time + this, seconds.
  put('utcOffset', 'time-offset', time && facts.offsetMinutes !== null ? -60 * facts.offsetMinutes : null)
  put('nominalFocalLength', 'focal-length', facts.focalLengthMillimetres)
  put('cameraMake', 'make', facts.make)
  put('cameraModel', 'model', facts.model)
  put('artist', 'artist', facts.artist)
  put('owner', 'copyright', facts.copyright)
  put('comments', 'caption', facts.caption)
  return { attributes, kept }
}

/** No camera has this name, so no reader applies its own idea of one. */
const OWN_CAMERA = { make: 'Duskwork', model: 'Merged bracket' } as const

const dngFile: Maker = async (source, { longSidePixels, dngCamera }) => {
  const { size, planes } = lightPlanes(source, longSidePixels)
  const linear = linearSamples([planes[0], planes[1], planes[2]], size.width)
  const taken = dngCamera === 'taken' ? source.facts : null
  const facts = { ...source.facts, make: null, model: null }
  const { top, exif, kept } = exifFieldsOf(facts, { ...size, space: null, software: softwareOf(source.host) })
  const about = xmpOf(facts)
  const bytes = writeLinearDng({
    ...size,
    samples: linear.samples,
    black: linear.black,
    white: linear.white,
    fromXyzD65: xyzD65ToSrgb,
    toXyzD50: srgbToXyzD50,
    baselineExposureStops: linear.whiteStops,
    make: taken?.make ?? OWN_CAMERA.make,
    model: taken?.model ?? OWN_CAMERA.model,
    uniqueModel: `${OWN_CAMERA.make} ${OWN_CAMERA.model}`,
    fields: [...top, ...(about ? [{ tag: 700, type: 'byte' as const, values: writeXmp(about) }] : [])],
    exif,
  })
  return {
    ...size,
    bytes,
    profile: profileNames['linear-srgb'],
    kept: [...kept, ...(taken?.make ? ['make'] : []), ...(taken?.model ? ['model'] : [])],
    figures: { whiteStops: linear.whiteStops, clippedShare: linear.clippedShare },
    reader: 'own reader of raw files',
    check: async (found) => exactly(linear.samples, samplesOf(found, size)),
  }
}

/** The samples of an uncompressed linear DNG, by what its header says to the reader of raw files. */
function samplesOf(file: Uint8Array, { width, height }: Size): ArrayLike<number> {
  const raw = describeRaw(file)
  if (raw.width !== width || raw.height !== height || raw.samplesPerPixel !== 3 || !raw.littleEndian) return []
  const out = new Uint16Array(width * height * 3)
  for (const { y, height: rows, offset, byteCount } of raw.segments) {
    const part = file.slice(offset, offset + Math.min(byteCount, rows * width * 6))
    out.set(new Uint16Array(part.buffer), y * width * 3)
  }
  return out
}

/** Makes one file of a print in memory. `copy` gets the pixels of a plain JPEG while they are encoded. */
export function makeFile(
  source: FileSource,
  settings: FileSettings,
  copy: ((pixels: Pixels8) => Promise<void>) | null,
): Promise<MadeFile> {
  const makers: Readonly<Record<PrintFormat, Maker>> = {
    jpeg: jpegFile(copy),
    'hdr-jpeg': hdrJpegFile,
    avif: avifFile,
    tiff: losslessFile('tiff'),
    png: losslessFile('png'),
    exr: exrFile,
    dng: dngFile,
  }
  return makers[settings.format]({ ...source, facts: keptFacts(source.facts, settings.keep) }, settings)
}
