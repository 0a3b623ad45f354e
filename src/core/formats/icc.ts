import { type Matrix3, multiply3 } from '#core/base'
import {
  adaptWhite,
  bt2020Space,
  decodeSrgb,
  p3Space,
  pcsD50,
  type RgbSpace,
  rgbToXyz,
  srgbSpace,
  xyFromXyz,
} from '#core/colour'

/**
 * A display profile by matrix and curves as bytes: ICC.1:2001-04 (profile version 2.4), which every reader of
 * profiles knows. Numbers are big-endian; s15Fixed16 is a signed number of 1/65536.
 */
export interface MatrixProfile {
  readonly description: string
  readonly copyright: string
  /** Linear RGB → XYZ adapted to the profile connection space; its rows sum to D50 (0.9642, 1, 0.8249). */
  readonly toPcs: Matrix3
  /** The adaptation that was used, device white to D50, for the chad tag. */
  readonly adaptation: Matrix3
  /** Encoded 0..1 → linear 0..1, the same for the three channels. */
  readonly decode: (encoded: number) => number
}

/** Entries of the curve table: with 1024 the straight lines between them stay within 1e-6 of the function. */
const CURVE_ENTRIES = 1024
const HEADER_BYTES = 128

const fixed = (value: number) => Math.round(value * 65536)

/** A writer over a growing list of bytes. */
function bytesBuilder() {
  const bytes: number[] = []
  const self = {
    bytes,
    u8: (...v: number[]) => bytes.push(...v.map((n) => n & 255)),
    u16: (...v: number[]) => v.forEach((n) => void bytes.push((n >> 8) & 255, n & 255)),
    u32: (...v: number[]) => v.forEach((n) => void self.u8(n >>> 24, n >>> 16, n >>> 8, n)),
    ascii: (text: string) => self.u8(...[...text].map((c) => (c.charCodeAt(0) < 128 ? c.charCodeAt(0) : 63))),
    zeros: (n: number) => self.u8(...new Array<number>(n).fill(0)),
  }
  return self
}

/** 6.5.17 textDescriptionType: ASCII with its NUL, then empty Unicode and Macintosh parts. */
function textDescription(text: string): number[] {
  const w = bytesBuilder()
  w.ascii('desc')
  w.u32(0, text.length + 1)
  w.ascii(text)
  w.zeros(1 + 4 + 4 + 2 + 1 + 67)
  return w.bytes
}

/** 6.5.18 textType. */
function plainText(text: string): number[] {
  const w = bytesBuilder()
  w.ascii('text')
  w.u32(0)
  w.ascii(text)
  w.u8(0)
  return w.bytes
}

/** 6.5.26 XYZType, one value, already in s15Fixed16. */
function xyz(values: readonly number[]): number[] {
  const w = bytesBuilder()
  w.ascii('XYZ ')
  w.u32(0, ...values)
  return w.bytes
}

/** 6.5.14 s15Fixed16ArrayType. */
function fixedArray(values: readonly number[]): number[] {
  const w = bytesBuilder()
  w.ascii('sf32')
  w.u32(0, ...values.map(fixed))
  return w.bytes
}

/** 6.5.3 curveType: without entries for the identity, else as a table of uInt16. */
function curve(decode: (encoded: number) => number): number[] {
  const w = bytesBuilder()
  w.ascii('curv')
  if (decode === linear) {
    w.u32(0, 0)
    return w.bytes
  }
  w.u32(0, CURVE_ENTRIES)
  for (let i = 0; i < CURVE_ENTRIES; i++) w.u16(Math.round(65535 * decode(i / (CURVE_ENTRIES - 1))))
  return w.bytes
}

/** The three colorants in s15Fixed16; green takes the rounding, so that they sum to the PCS white exactly. */
function colorants(m: Matrix3): readonly (readonly [number, number, number])[] {
  const row = (i: 0 | 1 | 2) => {
    const red = fixed(m[i * 3]!)
    const blue = fixed(m[i * 3 + 2]!)
    return [red, fixed(pcsD50[i]) - red - blue, blue] as const
  }
  const [x, y, z] = [row(0), row(1), row(2)]
  return [0, 1, 2].map((c) => [x[c]!, y[c]!, z[c]!] as const)
}

/** 6.1: the 128 bytes before the tag table. The date is fixed, so that equal prints have equal bytes. */
function header(size: number): number[] {
  const w = bytesBuilder()
  w.u32(size, 0, 0x02400000)
  w.ascii('mntrRGB XYZ ')
  w.u16(2026, 1, 1, 0, 0, 0)
  w.ascii('acsp')
  w.zeros(28)
  w.u32(...pcsD50.map(fixed))
  w.zeros(HEADER_BYTES - w.bytes.length)
  return w.bytes
}

/** The profile's bytes; tags with equal data share it (6.2.2 allows that). */
export function writeMatrixProfile(profile: MatrixProfile): Uint8Array {
  const [red, green, blue] = colorants(profile.toPcs)
  const toneCurve = curve(profile.decode)
  const tags: readonly (readonly [string, number[]])[] = [
    ['desc', textDescription(profile.description)],
    ['cprt', plainText(profile.copyright)],
    ['wtpt', xyz(pcsD50.map(fixed))],
    ['chad', fixedArray(profile.adaptation)],
    ['rXYZ', xyz(red!)],
    ['gXYZ', xyz(green!)],
    ['bXYZ', xyz(blue!)],
    ['rTRC', toneCurve],
    ['gTRC', toneCurve],
    ['bTRC', toneCurve],
  ]
  const placed = new Map<number[], number>()
  let top = HEADER_BYTES + 4 + tags.length * 12
  for (const [, data] of tags) {
    if (placed.has(data)) continue
    placed.set(data, top)
    top = Math.ceil((top + data.length) / 4) * 4
  }
  const table = bytesBuilder()
  table.u32(tags.length)
  for (const [name, data] of tags) {
    table.ascii(name)
    table.u32(placed.get(data)!, data.length)
  }
  const out = new Uint8Array(top)
  out.set(header(top))
  out.set(table.bytes, HEADER_BYTES)
  for (const [data, at] of placed) out.set(data, at)
  return out
}

/** The spaces that written pictures are in; all have the white of D65. */
export type ProfileName = 'srgb' | 'display-p3' | 'linear-srgb' | 'linear-bt2020'

const linear = (encoded: number) => encoded

const spaces: Readonly<Record<ProfileName, Pick<MatrixProfile, 'description' | 'decode'> & { space: RgbSpace }>> = {
  srgb: { description: 'sRGB, IEC 61966-2-1', space: srgbSpace, decode: decodeSrgb },
  // SMPTE EG 432-1 primaries, D65, and the transfer function of IEC 61966-2-1: what displays call P3.
  'display-p3': { description: 'Display P3', space: p3Space, decode: decodeSrgb },
  'linear-srgb': { description: 'Linear light, sRGB primaries', space: srgbSpace, decode: linear },
  'linear-bt2020': { description: 'Linear light, BT.2020 primaries', space: bt2020Space, decode: linear },
}

/** The name by which a record calls each profile. */
export const profileNames: Readonly<Record<ProfileName, string>> = {
  srgb: 'sRGB IEC 61966-2-1',
  'display-p3': 'Display P3',
  'linear-srgb': 'linear, sRGB primaries',
  'linear-bt2020': 'linear, BT.2020 primaries',
}

const made = new Map<ProfileName, Uint8Array>()

/** The profile of a space, adapted to D50 by linear Bradford; 0.5 to 2.6 kB, made once. */
export function rgbProfile(name: ProfileName): Uint8Array {
  const before = made.get(name)
  if (before) return before
  const { space, ...about } = spaces[name]
  const adaptation = adaptWhite(space.white, xyFromXyz(pcsD50))
  const profile = writeMatrixProfile({
    ...about,
    copyright: 'No copyright, use freely',
    toPcs: multiply3(adaptation, rgbToXyz(space)),
    adaptation,
  })
  made.set(name, profile)
  return profile
}

/** sRGB (IEC 61966-2-1:1999). */
export const srgbProfile = (): Uint8Array => rgbProfile('srgb')
