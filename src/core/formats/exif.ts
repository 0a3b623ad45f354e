import type { LeftOut } from '#core/base'
import { type CameraTime, cameraTime } from './exif-time.ts'
import { childDirectories, type TiffFile } from './tiff-directory.ts'
import { type TagReader, tagReader } from './tiff-value.ts'

/** Exif 2.32 (CIPA DC-008) facts of one exposure. Absent, zero and absurd values are null. */
export interface ExifFacts extends CameraTime {
  readonly exposureSeconds: number | null
  readonly fNumber: number | null
  readonly iso: number | null
  readonly focalLengthMillimetres: number | null
  readonly make: string | null
  readonly model: string | null
  /** Artist, Copyright, ImageDescription: what the photographer had the camera write. */
  readonly artist: string | null
  readonly copyright: string | null
  readonly caption: string | null
  readonly orientation: number | null
  readonly latitude: number | null
  readonly longitude: number | null
  readonly altitudeMetres: number | null
}

const within = (value: number | null | undefined, low: number, high: number): number | null =>
  value !== null && value !== undefined && value >= low && value <= high ? value : null

/** The tag in the Exif directory, else in the top one, where some raw writers put it. */
function eitherNumber(places: readonly TagReader[], tag: number): number | null {
  for (const place of places) {
    const value = place.number(tag)
    if (value !== null) return value
  }
  return null
}

/**
 * ExposureTime, or 2^−ShutterSpeedValue. An ExposureTime that is present but zero means "unknown", and then a speed value
 * of 0 (which would be 1 s) is no better: the fallback serves only files without the first tag.
 */
function exposureSeconds(places: readonly TagReader[]): number | null {
  if (places.some((p) => p.has(33434))) return within(eitherNumber(places, 33434), 1e-7, 86400)
  const apex = eitherNumber(places, 37377)
  return apex === null || apex === 0 ? null : within(2 ** -apex, 1e-7, 86400)
}

function fNumber(places: readonly TagReader[]): number | null {
  if (places.some((p) => p.has(33437))) return within(eitherNumber(places, 33437), 0.3, 256)
  const apex = eitherNumber(places, 37378)
  return apex === null || apex === 0 ? null : within(2 ** (apex / 2), 0.3, 256)
}

/** PhotographicSensitivity; 65535 there means "see the longer tags" (Exif 2.32, 4.6.5, SensitivityType). */
function iso(places: readonly TagReader[]): number | null {
  const short = eitherNumber(places, 34855)
  if (short !== null && short !== 65535) return within(short, 1, 1e7)
  for (const tag of [34867, 34865, 34866]) {
    const long = within(eitherNumber(places, tag), 1, 1e7)
    if (long !== null) return long
  }
  return within(short, 1, 1e7)
}

/** Degrees, minutes, seconds with an unreadable minute or second taken as zero; null unless the degrees are good. */
function degrees(values: number[] | null, reference: string | null, negative: string, limit: number): number | null {
  const [d, m = 0, s = 0] = values ?? []
  if (d === undefined || !Number.isFinite(d) || reference === null) return null
  const size = d + (Number.isFinite(m) ? m : 0) / 60 + (Number.isFinite(s) ? s : 0) / 3600
  return within(reference.toUpperCase().startsWith(negative) ? -size : size, -limit, limit)
}

/** Cameras fill ImageDescription with "default" or with their own path of the file, which nobody said of a picture. */
const captionIn = (text: string | null): string | null =>
  text === null || /\\|^(default|dcim\b.*)$/i.test(text) ? null : text

/** A receiver without a fix writes 0, 0: that place is in the sea and counts as "no position". */
function place(gps: TagReader | null) {
  const none = { latitude: null, longitude: null, altitudeMetres: null }
  if (gps === null) return none
  const latitude = degrees(gps.numbers(2), gps.text(1), 'S', 90)
  const longitude = degrees(gps.numbers(4), gps.text(3), 'W', 180)
  if (latitude === null || longitude === null || (latitude === 0 && longitude === 0)) return none
  const altitude = within(gps.number(6), 0, 100_000)
  // GPSAltitudeRef: 1 and (Exif 3.0) 3 are below the reference. Some writers make it a text digit.
  const reference = gps.number(5)
  const below = reference === 1 || reference === 3 || reference === 0x31
  return { latitude, longitude, altitudeMetres: altitude === null ? null : below ? -altitude : altitude }
}

/**
 * Reads the Exif facts of a TIFF structure: a raw file or the Exif segment of a JPEG file. Tags that cannot be read are
 * added to `leftOut`; only "beyond-head" is thrown.
 */
export function readExif(tiff: TiffFile, leftOut: LeftOut[]): ExifFacts {
  const top = tagReader(tiff, tiff.directories[0]!, leftOut)
  const seen = new Set(tiff.directories.map((d) => d.offset))
  const child = (tag: number): TagReader | null => {
    const offset = top.number(tag)
    if (offset === null) return null
    const { directories, problems } = childDirectories(tiff, [offset], seen)
    for (const p of problems) leftOut.push({ what: `directory of tag ${tag}`, reason: p.code, facts: p.facts })
    const directory = directories[0]
    return directory === undefined ? null : tagReader(tiff, directory, leftOut)
  }
  const exif = child(34665)
  const gps = child(34853)
  const places = exif === null ? [top] : [exif, top]
  return {
    exposureSeconds: exposureSeconds(places),
    fNumber: fNumber(places),
    iso: iso(places),
    focalLengthMillimetres: within(eitherNumber(places, 37386), 0.1, 10_000),
    make: top.text(271),
    model: top.text(272),
    artist: top.text(315),
    copyright: top.text(33432),
    caption: captionIn(top.text(270)),
    orientation: top.number(274),
    ...cameraTime(places, gps),
    ...place(gps),
  }
}
