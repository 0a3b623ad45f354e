import { type DirectoryToWrite, type FieldToWrite, writeTiff } from '#core/formats'

type WithoutTag<F> = F extends FieldToWrite ? Omit<F, 'tag'> : never

/** Fields of one directory by tag, later ones replacing earlier ones; null takes a tag away. */
export type Fields = Readonly<Record<number, WithoutTag<FieldToWrite> | null>>

export const short = (...values: number[]) => ({ type: 'short' as const, values })
export const long = (...values: number[]) => ({ type: 'long' as const, values })
export const byte = (...values: number[]) => ({ type: 'byte' as const, values })
export const double = (...values: number[]) => ({ type: 'double' as const, values })
export const undefinedBytes = (values: ArrayLike<number>) => ({ type: 'undefined' as const, values })
export const ascii = (text: string) => ({ type: 'ascii' as const, text })
/** Numerator, denominator, numerator, … */
export const rational = (...values: number[]) => ({ type: 'rational' as const, values })
export const srational = (...values: number[]) => ({ type: 'srational' as const, values })

function fieldList(...layers: (Fields | undefined)[]): FieldToWrite[] {
  const merged: Record<number, WithoutTag<FieldToWrite> | null> = Object.assign({}, ...layers)
  return Object.entries(merged).flatMap(([tag, field]) =>
    field === null ? [] : [{ ...field, tag: Number(tag) } as FieldToWrite],
  )
}

export const WIDTH = 8
export const HEIGHT = 6

/** The tags of an 8 × 6 RGGB picture, 16 bits, one strip. */
const rawFields: Fields = {
  254: long(0),
  256: long(WIDTH),
  257: long(HEIGHT),
  258: short(16),
  259: short(1),
  262: short(32803),
  277: short(1),
  278: long(HEIGHT),
  33421: short(2, 2),
  33422: byte(0, 1, 1, 2),
}

export interface SmallDng {
  /** Changes to the raw directory. */
  readonly raw?: Fields
  /** Changes to the top directory: the same one unless `thumbnail`. */
  readonly top?: Fields
  readonly exif?: Fields
  readonly gps?: Fields
  /** The raw picture in the first SubIFD, under a small RGB picture. */
  readonly thumbnail?: boolean
  readonly segments?: readonly Uint8Array[]
  readonly tiled?: boolean
  readonly littleEndian?: boolean
}

/** A small DNG file from its tags: sample i (row by row) holds 1000 + i. */
export function smallDng(options: SmallDng = {}): Uint8Array {
  const littleEndian = options.littleEndian ?? true
  const samples = new Uint8Array(2 * WIDTH * HEIGHT)
  const view = new DataView(samples.buffer)
  for (let i = 0; i < WIDTH * HEIGHT; i++) view.setUint16(2 * i, 1000 + i, littleEndian)
  const segments = {
    offsetsTag: options.tiled ? 324 : 273,
    countsTag: options.tiled ? 325 : 279,
    segments: options.segments ?? [samples],
  }
  const dng: Fields = { 50706: byte(1, 4, 0, 0) }
  const children = [
    ...(options.exif ? [{ tag: 34665, directories: [{ fields: fieldList(options.exif) }] }] : []),
    ...(options.gps ? [{ tag: 34853, directories: [{ fields: fieldList(options.gps) }] }] : []),
  ]
  if (!options.thumbnail) {
    return writeTiff([{ fields: fieldList(rawFields, dng, options.raw, options.top), children, segments }], {
      littleEndian,
    })
  }
  const raw: DirectoryToWrite = { fields: fieldList(rawFields, options.raw), segments }
  const small: Fields = {
    254: long(1),
    256: long(2),
    257: long(1),
    258: short(8, 8, 8),
    259: short(1),
    262: short(2),
    277: short(3),
    278: long(1),
  }
  return writeTiff(
    [
      {
        fields: fieldList(small, dng, options.top),
        children: [{ tag: 330, directories: [raw] }, ...children],
        segments: { offsetsTag: 273, countsTag: 279, segments: [Uint8Array.of(1, 2, 3, 4, 5, 6)] },
      },
    ],
    { littleEndian },
  )
}

/** The Failure that a call throws; any other error, or none, fails the test that asks. */
export function failureOf(call: () => unknown): {
  kind: string
  code: string
  facts: Readonly<Record<string, unknown>>
} {
  try {
    call()
  } catch (error) {
    const { name, kind, code, facts } = error as {
      name: string
      kind: string
      code: string
      facts: Record<string, unknown>
    }
    if (name !== 'Failure') throw error
    return { kind, code, facts }
  }
  throw new Error('nothing was thrown')
}
