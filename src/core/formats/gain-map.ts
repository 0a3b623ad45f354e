import { malformed } from '#core/base'

/**
 * How a gain map turns a base picture into its brighter rendition (ISO 21496-1). For a display of headroom H (how many
 * times brighter than white it can be), in linear light and for each channel:
 *
 *   w   = clamp((log2 H − baseHeadroom) / (alternateHeadroom − baseHeadroom), 0, 1)
 *   HDR = (base + baseOffset) · 2^(w · (min + (max − min) · r^(1/gamma))) − alternateOffset
 *
 * r is the map's sample from 0 to 1. Headrooms and gains are log2, as both forms of the metadata store them.
 */
export interface GainMapMetadata {
  readonly channels: readonly GainMapChannel[]
  /** log2 of the headroom up to which the base is shown as it is. */
  readonly baseHeadroom: number
  /** log2 of the headroom from which the whole gain is applied. */
  readonly alternateHeadroom: number
}

/** One a colour, or one for all three. */
export interface GainMapChannel {
  readonly min: number
  readonly max: number
  readonly gamma: number
  readonly baseOffset: number
  readonly alternateOffset: number
}

/** Identifier of the APP2 segment, with its zero. */
export const GAIN_MAP_SEGMENT = 'urn:iso:std:iso:ts:21496:-1\0'
const THREE_CHANNELS = 0x80
const BASE_COLOURS = 0x40
const COMMON_DENOMINATOR = 0x08
/** Fractions are written over a million: gains to 1e-6 of a stop. */
const DENOMINATOR = 1_000_000

const prefix = [...GAIN_MAP_SEGMENT].map((c) => c.charCodeAt(0))

/** Powers of two such as the usual offset 1/64 come out exactly. */
function fraction(value: number): readonly [number, number] {
  for (const denominator of [1, 64, DENOMINATOR]) {
    const above = value * denominator
    if (Math.abs(above - Math.round(above)) < 1e-9) return [Math.round(above), denominator]
  }
  return [Math.round(value * DENOMINATOR), DENOMINATOR]
}

/** The segment's body for the primary picture: versions only (ISO 21496-1 annex C). */
export const gainMapVersionSegment = (): Uint8Array => Uint8Array.from([...prefix, 0, 0, 0, 0])

/** The binary metadata: versions, flags, headrooms, then the channels; big-endian fractions (ISO 21496-1 annex C.2). */
export function gainMapPayload({ channels, baseHeadroom, alternateHeadroom }: GainMapMetadata): Uint8Array {
  const fractions = [
    ...[baseHeadroom, alternateHeadroom].map(fraction),
    ...channels.flatMap((c) => [c.min, c.max, c.gamma, c.baseOffset, c.alternateOffset].map(fraction)),
  ]
  const out = new Uint8Array(5 + fractions.length * 8)
  const view = new DataView(out.buffer)
  out[4] = BASE_COLOURS | (channels.length === 3 ? THREE_CHANNELS : 0)
  fractions.forEach(([above, below], i) => {
    view.setInt32(5 + i * 8, above)
    view.setUint32(9 + i * 8, below)
  })
  return out
}

/** The segment's body for the gain map picture. */
export function gainMapSegment(metadata: GainMapMetadata): Uint8Array {
  const payload = gainMapPayload(metadata)
  const out = new Uint8Array(prefix.length + payload.length)
  out.set(prefix)
  out.set(payload, prefix.length)
  return out
}

/**
 * The binary metadata as numbers, with or without a common denominator.
 * @throws malformed "gain-map-metadata"
 */
export function readGainMapPayload(bytes: Uint8Array): GainMapMetadata {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength)
  const need = (at: number, size: number) => {
    if (at + size > bytes.length) throw malformed('gain-map-metadata', { bytes: bytes.length })
  }
  need(0, 5)
  if (view.getUint16(0) !== 0) throw malformed('gain-map-metadata', { version: view.getUint16(0) })
  const flags = bytes[4]!
  const count = flags & THREE_CHANNELS ? 3 : 1
  const common = (flags & COMMON_DENOMINATOR) !== 0
  let at = 5
  let below = 0
  if (common) {
    need(at, 4)
    below = view.getUint32(at)
    at += 4
  }
  const next = (signed: boolean): number => {
    need(at, common ? 4 : 8)
    const above = signed ? view.getInt32(at) : view.getUint32(at)
    const divisor = common ? below : view.getUint32(at + 4)
    at += common ? 4 : 8
    if (divisor === 0) throw malformed('gain-map-metadata', { denominator: 0 })
    return above / divisor
  }
  const [baseHeadroom, alternateHeadroom] = [next(false), next(false)]
  const channels = Array.from({ length: count }, () => {
    const [min, max, gamma, baseOffset, alternateOffset] = [next(true), next(true), next(false), next(true), next(true)]
    return { min, max, gamma, baseOffset, alternateOffset }
  })
  return { channels, baseHeadroom, alternateHeadroom }
}

/** The metadata in the marker segments of a gain map's JPEG; null where there is no such segment. */
export function gainMapMetadataIn(jpeg: Uint8Array): GainMapMetadata | null {
  for (let at = 2; at + 4 <= jpeg.length && jpeg[at] === 0xff && jpeg[at + 1] !== 0xda; ) {
    const length = jpeg[at + 2]! * 256 + jpeg[at + 3]!
    const body = jpeg.subarray(at + 4, at + 2 + length)
    if (jpeg[at + 1] === 0xe2 && body.length > prefix.length && prefix.every((b, i) => body[i] === b))
      return readGainMapPayload(body.subarray(prefix.length))
    at += 2 + length
  }
  return null
}

/** Six digits are finer than a map of 8 bits can be. */
const decimal = (value: number) => String(Number(value.toFixed(6)))

/** The older form: attributes of the gain map picture's XMP, and lists where the three channels differ. */
export function gainMapProperties({ channels, baseHeadroom, alternateHeadroom }: GainMapMetadata): {
  readonly attributes: Readonly<Record<string, string>>
  readonly elements: string
} {
  const attributes: Record<string, string> = { 'hdrgm:Version': '1.0' }
  let elements = ''
  const put = (name: string, of: (c: GainMapChannel) => number) => {
    const values = channels.map((c) => decimal(of(c)))
    if (values.every((v) => v === values[0])) attributes[`hdrgm:${name}`] = values[0]!
    else {
      const items = values.map((v) => `<rdf:li>${v}</rdf:li>`).join('')
      elements += `<hdrgm:${name}><rdf:Seq>${items}</rdf:Seq></hdrgm:${name}>`
    }
  }
  put('GainMapMin', (c) => c.min)
  put('GainMapMax', (c) => c.max)
  put('Gamma', (c) => c.gamma)
  put('OffsetSDR', (c) => c.baseOffset)
  put('OffsetHDR', (c) => c.alternateOffset)
  attributes['hdrgm:HDRCapacityMin'] = decimal(baseHeadroom)
  attributes['hdrgm:HDRCapacityMax'] = decimal(alternateHeadroom)
  attributes['hdrgm:BaseRenditionIsHDR'] = 'False'
  return { attributes, elements }
}
