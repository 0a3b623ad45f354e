import type { Matrix3 } from '#core/base'
import { type FieldToWrite, rationals, writeTiff } from './tiff-writer.ts'

/** A demosaiced, scene-linear picture as a DNG (DNG 1.6.0.0; PhotometricInterpretation LinearRaw). */
export interface LinearDngToWrite {
  readonly width: number
  readonly height: number
  /** width × height × 3 values of 16 bits, interleaved: black + (white − black) · light. */
  readonly samples: Uint16Array
  readonly black: number
  readonly white: number
  /** XYZ under D65 → the samples' colours, whose (1, 1, 1) is that white. */
  readonly fromXyzD65: Matrix3
  /** The samples' colours → XYZ under D50. */
  readonly toXyzD50: Matrix3
  /** Stops by which a reader brightens its default rendering: log2 of the light that `white` stands for. */
  readonly baselineExposureStops: number
  readonly make: string
  readonly model: string
  /** Names the colours, and nothing else: readers look their own corrections up by it. */
  readonly uniqueModel: string
  /** More fields of the first directory, and those of the Exif directory. */
  readonly fields: readonly FieldToWrite[]
  readonly exif: readonly FieldToWrite[]
}

const D65_LIGHT_SOURCE = 21
const MILLION = 1_000_000
const STRIP_BYTES = 1 << 20

const matrix = (tag: number, values: Matrix3): FieldToWrite => ({
  tag,
  type: 'srational',
  values: rationals(values, MILLION),
})

/** One directory that is the picture itself: no preview stands before it, and none is in the file. */
export function writeLinearDng(d: LinearDngToWrite): Uint8Array {
  const { width, height } = d
  const rowBytes = width * 6
  const rows = Math.min(height, Math.max(1, Math.floor(STRIP_BYTES / rowBytes)))
  const bytes = new Uint8Array(d.samples.buffer, d.samples.byteOffset, rowBytes * height)
  const segments: Uint8Array[] = []
  for (let y = 0; y < height; y += rows) {
    segments.push(bytes.subarray(y * rowBytes, Math.min(y + rows, height) * rowBytes))
  }
  const three = (value: number) => [value, value, value]
  const fields: FieldToWrite[] = [
    { tag: 254, type: 'long', values: [0] },
    { tag: 256, type: 'long', values: [width] },
    { tag: 257, type: 'long', values: [height] },
    { tag: 258, type: 'short', values: three(16) },
    { tag: 259, type: 'short', values: [1] },
    { tag: 262, type: 'short', values: [34892] },
    { tag: 271, type: 'ascii', text: d.make },
    { tag: 272, type: 'ascii', text: d.model },
    { tag: 277, type: 'short', values: [3] },
    { tag: 278, type: 'long', values: [rows] },
    { tag: 284, type: 'short', values: [1] },
    { tag: 339, type: 'short', values: three(1) },
    { tag: 50706, type: 'byte', values: [1, 4, 0, 0] },
    { tag: 50707, type: 'byte', values: [1, 1, 0, 0] },
    { tag: 50708, type: 'ascii', text: d.uniqueModel },
    { tag: 50713, type: 'short', values: [1, 1] },
    { tag: 50714, type: 'long', values: three(d.black) },
    { tag: 50717, type: 'long', values: three(d.white) },
    { tag: 50718, type: 'rational', values: [1, 1, 1, 1] },
    { tag: 50719, type: 'long', values: [0, 0] },
    { tag: 50720, type: 'long', values: [width, height] },
    matrix(50721, d.fromXyzD65),
    { tag: 50728, type: 'rational', values: rationals([1, 1, 1], 1) },
    { tag: 50730, type: 'srational', values: rationals([d.baselineExposureStops], MILLION) },
    { tag: 50778, type: 'short', values: [D65_LIGHT_SOURCE] },
    { tag: 50829, type: 'long', values: [0, 0, height, width] },
    matrix(50964, d.toXyzD50),
    ...d.fields,
  ]
  return writeTiff([
    {
      fields,
      children: [{ tag: 34665, directories: [{ fields: d.exif }] }],
      segments: { offsetsTag: 273, countsTag: 279, segments },
    },
  ])
}
