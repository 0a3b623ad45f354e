import type { CfaPattern, Orientation, Region } from '#core/pixels'
import { type Attitude, attitudePacket } from './attitude-packet.ts'
import { type DngPacking, type MosaicToPack, packSegment, STRIP_ROWS, segmentCount } from './dng-tiles.ts'
import { type DirectoryToWrite, type FieldToWrite, rationals, writeTiff } from './tiff-writer.ts'

/** All that a DNG of one mosaic states (DNG 1.6.0.0, chapters 3 to 6). */
export interface DngToWrite {
  readonly width: number
  readonly height: number
  /** width × height stored values, row by row; at most 2^bitsPerSample − 1. */
  readonly mosaic: Uint16Array
  /** 8 < bits ≤ 16. */
  readonly bitsPerSample: number
  readonly cfa: CfaPattern
  readonly packing: DngPacking
  /** The strips or tiles already packed, in order, when the caller did it on several threads. */
  readonly segments?: readonly Uint8Array[]
  /** Default true. */
  readonly littleEndian?: boolean
  readonly black: { readonly repeatRows: number; readonly repeatColumns: number; readonly values: readonly number[] }
  readonly white: number
  /** Default: the whole mosaic. */
  readonly activeArea?: Region
  /** Relative to the active area; default: all of it. */
  readonly crop?: Region
  readonly orientation?: Orientation
  readonly exposureSeconds: number
  readonly iso: number
  readonly fNumber: number
  readonly focalLengthMillimetres: number
  readonly takenAt: {
    /** The camera's clock, "YYYY-MM-DDTHH:MM:SS". */
    readonly camera: string
    /** Seconds, 0 ≤ s < 1. */
    readonly subSecond: number
    readonly offsetMinutes: number | null
  }
  readonly make: string
  readonly model: string
  /** One term for all planes or one a plane; variance = scale·x + offset. */
  readonly noise?: readonly { readonly scale: number; readonly offset: number }[]
  readonly colour?: ColourToWrite
  /** Whole opcode lists as bytes, big-endian as DNG has them. */
  readonly opcodeLists?: { readonly 1?: Uint8Array; readonly 2?: Uint8Array; readonly 3?: Uint8Array }
  readonly attitude?: Attitude
  /** Small RGB picture for IFD0, 8 bits a sample; default a 16 × 12 grey one. */
  readonly thumbnail?: { readonly width: number; readonly height: number; readonly data: Uint8Array }
}

/** Matrices in row order; illuminants as Exif LightSource codes. */
export interface ColourToWrite {
  readonly illuminant1: number
  readonly illuminant2?: number
  readonly colorMatrix1: readonly number[]
  readonly colorMatrix2?: readonly number[]
  readonly forwardMatrix1?: readonly number[]
  readonly forwardMatrix2?: readonly number[]
  readonly asShotNeutral: readonly number[]
}

/** Matrices are rounded to this fraction on writing. */
export const MATRIX_DENOMINATOR = 10_000

const short = (tag: number, ...values: number[]): FieldToWrite => ({ tag, type: 'short', values })
const long = (tag: number, ...values: number[]): FieldToWrite => ({ tag, type: 'long', values })
const byte = (tag: number, values: ArrayLike<number>): FieldToWrite => ({ tag, type: 'byte', values })
const text = (tag: number, value: string): FieldToWrite => ({ tag, type: 'ascii', text: value })
const ratio = (tag: number, numbers: readonly number[], denominator: number): FieldToWrite => ({
  tag,
  type: 'rational',
  values: rationals(numbers, denominator),
})
const matrix = (tag: number, values: readonly number[] | undefined): FieldToWrite[] =>
  values ? [{ tag, type: 'srational', values: rationals(values, MATRIX_DENOMINATOR) }] : []

/** Exif writes short times as 1/n; others in microseconds. */
function exposureRatio(seconds: number): number[] {
  const inverse = 1 / seconds
  if (inverse >= 1 && Math.abs(inverse - Math.round(inverse)) < 1e-6 * inverse) return [1, Math.round(inverse)]
  return [Math.round(seconds * 1e6), 1_000_000]
}

const two = (n: number) => String(n).padStart(2, '0')

function offsetText(minutes: number): string {
  const size = Math.abs(minutes)
  return `${minutes < 0 ? '-' : '+'}${two(Math.floor(size / 60))}:${two(size % 60)}`
}

const exifTime = (camera: string) => camera.replace(/-/g, ':').replace('T', ' ')

/** The Exif directory's fields (Exif 2.32, section 4.6.5). */
export function exifFields(
  facts: Pick<DngToWrite, 'exposureSeconds' | 'iso' | 'fNumber' | 'focalLengthMillimetres' | 'takenAt'>,
): FieldToWrite[] {
  const { takenAt } = facts
  const zone = takenAt.offsetMinutes === null ? [] : [offsetText(takenAt.offsetMinutes)]
  return [
    { tag: 33434, type: 'rational', values: exposureRatio(facts.exposureSeconds) },
    ratio(33437, [facts.fNumber], 100),
    short(34855, facts.iso),
    { tag: 36864, type: 'undefined', values: [48, 50, 51, 50] },
    text(36867, exifTime(takenAt.camera)),
    text(36868, exifTime(takenAt.camera)),
    ...zone.flatMap((z) => [text(36880, z), text(36881, z)]),
    ratio(37386, [facts.focalLengthMillimetres], 100),
    text(37521, String(Math.min(999, Math.floor(takenAt.subSecond * 1000 + 0.5))).padStart(3, '0')),
  ]
}

function rawDirectory(d: DngToWrite): DirectoryToWrite {
  const kind = d.packing.kind
  const tiled = kind === 'lossless-jpeg' || kind === 'deflate'
  const area = d.activeArea ?? { x: 0, y: 0, width: d.width, height: d.height }
  const crop = d.crop ?? { x: 0, y: 0, width: area.width, height: area.height }
  const mosaic: MosaicToPack = {
    width: d.width,
    height: d.height,
    samples: d.mosaic,
    bitsPerSample: d.bitsPerSample,
    littleEndian: d.littleEndian ?? true,
  }
  const segments =
    d.segments ??
    Array.from({ length: segmentCount(d.width, d.height, d.packing) }, (_, i) => packSegment(mosaic, d.packing, i))
  const opcodes = ([1, 2, 3] as const).flatMap((list): FieldToWrite[] => {
    const bytes = d.opcodeLists?.[list]
    return bytes ? [{ tag: { 1: 51008, 2: 51009, 3: 51022 }[list], type: 'undefined', values: bytes }] : []
  })
  const fields: FieldToWrite[] = [
    long(254, 0),
    long(256, d.width),
    long(257, d.height),
    short(258, kind === 'words' || kind === 'deflate' ? 16 : d.bitsPerSample),
    short(259, kind === 'lossless-jpeg' ? 7 : kind === 'deflate' ? 8 : 1),
    short(262, 32803),
    short(277, 1),
    short(284, 1),
    ...(kind === 'deflate' ? [short(317, 2)] : []),
    ...('tile' in d.packing ? [long(322, d.packing.tile), long(323, d.packing.tile)] : [long(278, STRIP_ROWS)]),
    short(33421, 2, 2),
    byte(33422, d.cfa),
    byte(50710, [0, 1, 2]),
    short(50711, 1),
    short(50713, d.black.repeatRows, d.black.repeatColumns),
    // Over 256: black levels are often fractions, and powers of two keep them exact.
    ratio(50714, d.black.values, 256),
    long(50717, d.white),
    ratio(50718, [1, 1], 1),
    long(50719, crop.x, crop.y),
    long(50720, crop.width, crop.height),
    long(50829, area.y, area.x, area.y + area.height, area.x + area.width),
    ...opcodes,
    ...(d.noise ? [{ tag: 51041, type: 'double' as const, values: d.noise.flatMap((n) => [n.scale, n.offset]) }] : []),
  ]
  return { fields, segments: { offsetsTag: tiled ? 324 : 273, countsTag: tiled ? 325 : 279, segments } }
}

function colourFields(c: ColourToWrite): FieldToWrite[] {
  return [
    ...matrix(50721, c.colorMatrix1),
    ...matrix(50722, c.colorMatrix2),
    ratio(50728, c.asShotNeutral, 1_000_000),
    short(50778, c.illuminant1),
    ...(c.illuminant2 === undefined ? [] : [short(50779, c.illuminant2)]),
    ...matrix(50964, c.forwardMatrix1),
    ...matrix(50965, c.forwardMatrix2),
  ]
}

/** A DNG: a small RGB picture and the camera's facts in IFD0, the mosaic in a SubIFD, the exposure in an Exif directory. */
export function writeDng(d: DngToWrite): Uint8Array {
  const small = d.thumbnail ?? { width: 16, height: 12, data: new Uint8Array(16 * 12 * 3).fill(64) }
  const fields: FieldToWrite[] = [
    long(254, 1),
    long(256, small.width),
    long(257, small.height),
    short(258, 8, 8, 8),
    short(259, 1),
    short(262, 2),
    text(271, d.make),
    text(272, d.model),
    short(274, d.orientation ?? 1),
    short(277, 3),
    long(278, small.height),
    short(284, 1),
    text(306, exifTime(d.takenAt.camera)),
    ...(d.attitude ? [byte(700, attitudePacket(d.attitude))] : []),
    byte(50706, [1, 4, 0, 0]),
    byte(50707, [1, d.packing.kind === 'deflate' ? 4 : d.opcodeLists ? 3 : 1, 0, 0]),
    text(50708, `${d.make} ${d.model}`),
    ...(d.colour ? colourFields(d.colour) : []),
  ]
  const main: DirectoryToWrite = {
    fields,
    children: [
      { tag: 330, directories: [rawDirectory(d)] },
      { tag: 34665, directories: [{ fields: exifFields(d) }] },
    ],
    segments: { offsetsTag: 273, countsTag: 279, segments: [small.data] },
  }
  return writeTiff([main], { littleEndian: d.littleEndian ?? true })
}
