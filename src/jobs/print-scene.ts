import { srgbToXyzD50, xyzD65ToSrgb } from '#core/colour'
import { linearSrgbChromaticities, profileNames, readExr, writeExr, writeLinearDng, writeXmp } from '#core/formats'
import { halfFromFloat } from '#core/kernels'
import {
  exactly,
  exifFieldsOf,
  linearSamples,
  type PrintFacts,
  resizePlane,
  type Size,
  sizeWithin,
} from '#picture/export'
import { describeRaw } from '#picture/raw'
import { type FileSource, type Maker, softwareOf, xmpOf } from './print-made.ts'

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

/** The light itself as half floats. */
export const exrFile: Maker = async (source, { longSidePixels }) => {
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

/** The light itself as a raw file that was demosaiced already. */
export const dngFile: Maker = async (source, { longSidePixels, dngCamera }) => {
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
