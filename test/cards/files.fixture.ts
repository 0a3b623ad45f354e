import { mkdirSync, writeFileSync } from 'node:fs'
import { dirname, join } from 'node:path'
import type { CardEntry, PictureEntry } from '#picture/card'
import { ascii, byte, type Fields, rational, short, smallDng } from '../tiff-bytes.ts'

const exifTime = (iso: string) => iso.replaceAll('-', ':').replace('T', ' ').replace('Z', '')

/** An XMP packet with what a drone writes, under a namespace of our own. */
const packetOf = ({ attitude }: PictureEntry['facts']) =>
  attitude === null
    ? null
    : `<x RelativeAltitude="${attitude.relativeHeightMetres}" GimbalPitchDegree="${attitude.gimbalPitch}" GimbalYawDegree="${attitude.gimbalYaw}" GimbalRollDegree="${attitude.gimbalRoll}"/>`

/** A made card's picture as a small raw file that states the same facts; its pixels are 8 × 6 whatever the card says. */
function dngOf({ facts }: PictureEntry): Uint8Array {
  const { exposureSeconds, iso, fNumber, takenAt } = facts
  const packet = packetOf(facts)
  const exif: Fields = {
    ...(exposureSeconds === null ? {} : { 33434: rational(Math.round(exposureSeconds * 1e6), 1_000_000) }),
    ...(fNumber === null ? {} : { 33437: rational(Math.round(fNumber * 10), 10) }),
    ...(iso === null ? {} : { 34855: short(iso) }),
    ...(takenAt.camera === null ? {} : { 36867: ascii(exifTime(takenAt.camera)) }),
    ...(takenAt.subSecond > 0 ? { 37521: ascii(takenAt.subSecond.toFixed(3).slice(2)) } : {}),
  }
  const [, date, hour, minute, second] = /^(.{10})T(\d\d):(\d\d):(\d\d)/.exec(facts.receiverUtc ?? '') ?? []
  return smallDng({
    exif,
    ...(date
      ? {
          gps: {
            7: rational(Number(hour), 1, Number(minute), 1, Number(second), 1),
            29: ascii(date.replaceAll('-', ':')),
          },
        }
      : {}),
    top: {
      271: ascii(facts.make ?? ''),
      272: ascii(facts.model ?? ''),
      ...(packet === null ? {} : { 700: byte(...Buffer.from(packet)) }),
    },
  })
}

/** Writes the raw files of a made card below `folder`; other entries become small texts. */
export function writeCard(folder: string, entries: readonly CardEntry[]): void {
  for (const entry of entries) {
    const path = join(folder, entry.file)
    mkdirSync(dirname(path), { recursive: true })
    if (entry.kind !== 'rendered') writeFileSync(path, entry.kind === 'raw' ? dngOf(entry) : 'a note')
  }
}
