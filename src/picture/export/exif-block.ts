import { type FieldToWrite, rationals, utf8Bytes, writeTiff } from '#core/formats'
import type { PrintSpace } from './print-image.ts'

/** What a print says about how it was taken and by whom; null where it is not known or not to be said. */
export interface PrintFacts {
  readonly exposureSeconds: number | null
  readonly fNumber: number | null
  readonly iso: number | null
  readonly focalLengthMillimetres: number | null
  /** "YYYY-MM-DDTHH:MM:SS" on the camera's clock. */
  readonly takenAtCamera: string | null
  readonly offsetMinutes: number | null
  readonly make: string | null
  readonly model: string | null
  readonly artist: string | null
  readonly copyright: string | null
  readonly caption: string | null
}

export const noFacts: PrintFacts = {
  exposureSeconds: null,
  fNumber: null,
  iso: null,
  focalLengthMillimetres: null,
  takenAtCamera: null,
  offsetMinutes: null,
  make: null,
  model: null,
  artist: null,
  copyright: null,
  caption: null,
}

export interface ExifBlock {
  /** TIFF-structured, without the "Exif\0\0" prefix. */
  readonly bytes: Uint8Array
  /** Names of the facts that are in it. */
  readonly kept: readonly string[]
}

interface Named {
  readonly name: string
  readonly field: FieldToWrite
}

/** Seconds as the fraction a reader expects: 1/n when that is within 0.5 %, else millionths over a plain denominator. */
export function exposureFraction(seconds: number): readonly [number, number] {
  const inverse = Math.round(1 / seconds)
  if (seconds < 0.4 && inverse > 0 && Math.abs(1 / inverse / seconds - 1) <= 0.005) return [1, inverse]
  const denominator = seconds < 1 ? 1_000_000 : seconds < 1000 ? 1000 : 1
  return [Math.round(seconds * denominator), denominator]
}

const two = (n: number) => String(Math.floor(n)).padStart(2, '0')
/** "+01:00", Exif 2.32 section 4.6.6 OffsetTime. */
const offsetText = (minutes: number) =>
  `${minutes < 0 ? '-' : '+'}${two(Math.abs(minutes) / 60)}:${two(Math.abs(minutes) % 60)}`

const cameraTime = /^(\d{4})-(\d{2})-(\d{2})T(\d{2}:\d{2}:\d{2})/

/** UTF-8, as Metadata Working Group 2010 section "Exif" recommends and Exif 3.0 allows; control characters dropped. */
function text(name: string, tag: number, value: string | null): Named[] {
  const clean = (value ?? '').replace(/(?![\t\n])\p{Cc}/gu, '').trim()
  return clean === '' ? [] : [{ name, field: { tag, type: 'ascii', values: [...utf8Bytes(clean), 0] } }]
}

const rational = (name: string, tag: number, value: number | null, denominator: number): Named[] =>
  value !== null && value > 0
    ? [{ name, field: { tag, type: 'rational', values: rationals([value], denominator) } }]
    : []

function exposureFields(facts: PrintFacts): Named[] {
  const out: Named[] = []
  const { exposureSeconds, iso, takenAtCamera, offsetMinutes } = facts
  if (exposureSeconds !== null && exposureSeconds > 0) {
    const values = exposureFraction(exposureSeconds)
    out.push({ name: 'exposure-time', field: { tag: 33434, type: 'rational', values } })
  }
  out.push(...rational('f-number', 33437, facts.fNumber, 100))
  if (iso !== null && iso > 0) {
    // Larger sensitivities saturate the SHORT (Exif 2.32 section 4.6.5, PhotographicSensitivity).
    out.push({ name: 'iso', field: { tag: 34855, type: 'short', values: [Math.min(65535, Math.round(iso))] } })
  }
  const time = cameraTime.exec(takenAtCamera ?? '')
  if (time) {
    const stamp = `${time[1]}:${time[2]}:${time[3]} ${time[4]}`
    out.push(...text('date', 36867, stamp))
    if (offsetMinutes !== null) out.push(...text('time-offset', 36881, offsetText(offsetMinutes)))
  }
  out.push(...rational('focal-length', 37386, facts.focalLengthMillimetres, 100))
  return out
}

export interface PictureFacts {
  readonly width: number
  readonly height: number
  readonly software: string
  /** Default sRGB; null for linear light, which Exif has no number for. */
  readonly space?: PrintSpace | null
}

/** The fields of a print's Exif, ready for a TIFF directory and its Exif directory, and the names of the facts in them. */
export interface ExifFields {
  readonly top: readonly FieldToWrite[]
  readonly exif: readonly FieldToWrite[]
  readonly kept: readonly string[]
}

/**
 * What a print says in Exif (CIPA DC-008 2.32): the facts that are known, upright orientation, the colour space and the
 * picture's size. Nothing is copied from the frames' own blocks, so nothing can slip through: no position, no maker's
 * block, no serial numbers, no thumbnail.
 */
export function exifFieldsOf(facts: PrintFacts, picture: PictureFacts): ExifFields {
  const described = [
    ...text('caption', 270, facts.caption),
    ...text('make', 271, facts.make),
    ...text('model', 272, facts.model),
    ...text('artist', 315, facts.artist),
    ...text('copyright', 33432, facts.copyright),
  ]
  const exposure = exposureFields(facts)
  return {
    top: [
      ...described.map((d) => d.field),
      { tag: 274, type: 'short', values: [1] },
      { tag: 282, type: 'rational', values: [72, 1] },
      { tag: 283, type: 'rational', values: [72, 1] },
      { tag: 296, type: 'short', values: [2] },
      { tag: 305, type: 'ascii', text: picture.software },
    ],
    exif: [
      ...exposure.map((e) => e.field),
      { tag: 36864, type: 'undefined', values: [48, 50, 51, 50] },
      // 4.6.5 ColorSpace: 1 sRGB, 65535 anything else.
      { tag: 40961, type: 'short', values: [picture.space === undefined || picture.space === 'srgb' ? 1 : 65535] },
      { tag: 40962, type: 'long', values: [picture.width] },
      { tag: 40963, type: 'long', values: [picture.height] },
    ],
    kept: [...exposure, ...described].map((n) => n.name).concat('orientation', 'software'),
  }
}

/** The same as one block, for the formats that carry it whole. */
export function exifBlock(facts: PrintFacts, picture: PictureFacts): ExifBlock {
  const { top, exif, kept } = exifFieldsOf(facts, picture)
  return { bytes: writeTiff([{ fields: top, children: [{ tag: 34665, directories: [{ fields: exif }] }] }]), kept }
}
