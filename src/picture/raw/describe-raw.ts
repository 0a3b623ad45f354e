import { type LeftOut, unsupported } from '#core/base'
import { readExif, readTiff, type TagReader, tagReader } from '#core/formats'
import { areasOf } from './areas.ts'
import { baselineExposureOf, colourOf, noiseOf } from './colour-tags.ts'
import { exposureFacts, orientationFrom, xmpOrLeftOut } from './exposure-facts.ts'
import { levelsOf } from './levels.ts'
import { parseOpcodeList } from './opcodes.ts'
import { rawDirectory } from './raw-directory.ts'
import { sampleFormat } from './sample-format.ts'
import { refuseLossyJpeg, segmentsOf } from './segments.ts'
import { DNG_VERSION } from './sniff.ts'
import type { Opcode, RawFile } from './types.ts'

/** Major and minor of the newest DNG whose features are known by name here; 1.7 adds JPEG XL, which is refused as such. */
const NEWEST = [1, 7] as const

function checkVersion(top: TagReader): void {
  const version = top.mustNumbers(DNG_VERSION)
  if (version === null) throw unsupported('not-dng', { tag: DNG_VERSION })
  // DNGBackwardVersion: the oldest reader that may open the file.
  const [major = 1, minor = 0] = top.numbers(50707) ?? []
  if (major > NEWEST[0] || (major === NEWEST[0] && minor > NEWEST[1])) {
    throw unsupported('dng-version', { found: `${major}.${minor}`, expected: NEWEST.join('.') })
  }
}

function opcodesOf(raw: TagReader, leftOut: LeftOut[]): Opcode[] {
  const tags = [51008, 51009, 51022] as const
  return tags.flatMap((tag, i) => {
    const bytes = raw.mustBytes(tag)
    if (bytes === null || bytes.length === 0) return []
    const parsed = parseOpcodeList(bytes, (i + 1) as 1 | 2 | 3)
    leftOut.push(...parsed.leftOut)
    return parsed.opcodes
  })
}

/** Facts the file states but no stage here uses: pictures come out as if they were not there. */
function noteUnused(raw: TagReader, leftOut: LeftOut[]): void {
  const [horizontal = 1, vertical = 1] = raw.numbers(50718) ?? []
  if (horizontal !== vertical && Number.isFinite(horizontal / vertical)) {
    leftOut.push({ what: 'default scale', reason: 'pixels-not-square', facts: { tag: 50718, horizontal, vertical } })
  }
}

/** The same tag may be met through several readers; one fault is told once. */
function once(leftOut: readonly LeftOut[]): LeftOut[] {
  const told = new Set<string>()
  return leftOut.filter((entry) => {
    const key = JSON.stringify(entry)
    return told.has(key) ? false : told.add(key)
  })
}

/**
 * Understands a DNG file: where its samples lie and how they become linear; no sample is decoded. `bytes` may be the head
 * of a file of `fileBytes`: when that is not enough, `limit` "beyond-head" says with `neededBytes` how much is.
 * Everything the pixels depend on must be sound, or the file is refused by name; anything else is left out with a reason.
 * @throws Failure malformed, unsupported or limit; see the functions called for the codes
 */
export function describeRaw(bytes: Uint8Array, fileBytes = bytes.length): RawFile {
  const leftOut: LeftOut[] = []
  const tiff = readTiff(bytes, fileBytes)
  const top = tagReader(tiff, tiff.directories[0]!, leftOut)
  checkVersion(top)
  const raw = rawDirectory(tiff, leftOut)
  const format = sampleFormat(raw)
  const segments = segmentsOf(raw, format, tiff.window.fileBytes)
  if (format.packing === 'lossless-jpeg') refuseLossyJpeg(tiff.window, segments[0]!)
  const areas = areasOf(raw, format, leftOut)
  const exif = readExif(tiff, leftOut)
  const colourPlaces = raw.directory === top.directory ? [top] : [top, raw]
  const rawFirst = [...colourPlaces].reverse()
  noteUnused(raw, leftOut)
  const opcodes = opcodesOf(raw, leftOut)
  const described: Omit<RawFile, 'leftOut'> = {
    ...exposureFacts(exif, xmpOrLeftOut(top.bytes(700), leftOut)),
    kind: 'dng',
    littleEndian: tiff.window.littleEndian,
    ...format,
    segments,
    ...levelsOf(raw, format, areas.activeArea, leftOut),
    ...areas,
    orientation: orientationFrom(exif.orientation ?? raw.number(274), leftOut),
    baselineExposureStops: baselineExposureOf(colourPlaces),
    noise: noiseOf(rawFirst, leftOut),
    colour: colourOf(colourPlaces, leftOut),
    opcodes,
  }
  return { ...described, leftOut: once(leftOut) }
}
