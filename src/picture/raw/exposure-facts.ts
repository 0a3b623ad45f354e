import { Failure, type LeftOut } from '#core/base'
import { type ExifFacts, readXmp, type XmpProperties } from '#core/formats'
import type { Orientation } from '#core/pixels'
import { attitudeFrom, positionFrom } from './attitude.ts'
import type { ExposureFacts } from './types.ts'

/** log2(N²/t) − log2(S/100); null unless all three are known. */
export function ev100(fNumber: number | null, exposureSeconds: number | null, iso: number | null): number | null {
  if (fNumber === null || exposureSeconds === null || iso === null) return null
  return Math.log2(fNumber ** 2 / exposureSeconds) - Math.log2(iso / 100)
}

/** The facts that raw and rendered files share, from their Exif block and XMP packet (either may be absent). */
export function exposureFacts(exif: ExifFacts | null, xmp: XmpProperties | null): ExposureFacts {
  const { exposureSeconds = null, fNumber = null, iso = null, latitude = null, longitude = null } = exif ?? {}
  return {
    exposureSeconds,
    fNumber,
    iso,
    ev100: ev100(fNumber, exposureSeconds, iso),
    focalLengthMillimetres: exif?.focalLengthMillimetres ?? null,
    takenAt: {
      utc: exif?.utc ?? null,
      camera: exif?.clock ?? null,
      offsetMinutes: exif?.offsetMinutes ?? null,
      subSecond: exif?.subSecond ?? 0,
    },
    receiverUtc: exif?.receiverUtc ?? null,
    make: exif?.make ?? null,
    model: exif?.model ?? null,
    artist: exif?.artist ?? null,
    copyright: exif?.copyright ?? null,
    caption: exif?.caption ?? null,
    attitude: xmp === null ? null : attitudeFrom(xmp),
    position:
      latitude !== null && longitude !== null
        ? { latitude, longitude, altitudeMetres: exif?.altitudeMetres ?? null }
        : xmp === null
          ? null
          : positionFrom(xmp),
  }
}

/** An XMP packet's properties; a packet that cannot be read costs only itself. */
export function xmpOrLeftOut(packet: Uint8Array | null, leftOut: LeftOut[]): XmpProperties | null {
  if (packet === null || packet.length === 0) return null
  try {
    return readXmp(packet)
  } catch (error) {
    if (!(error instanceof Failure)) throw error
    leftOut.push({ what: 'xmp', reason: error.code, facts: error.facts })
    return null
  }
}

/** Exif Orientation; anything but 1–8 counts as upright, and as left out when it was there. */
export function orientationFrom(value: number | null, leftOut: LeftOut[]): Orientation {
  if (value === 1 || value === 2 || value === 3 || value === 4) return value
  if (value === 5 || value === 6 || value === 7 || value === 8) return value
  // 0 is what writers put who do not know it.
  if (value !== null && value !== 0) {
    leftOut.push({ what: 'orientation', reason: 'orientation-unknown', facts: { tag: 274, found: value } })
  }
  return 1
}
