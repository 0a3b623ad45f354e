import type { LeftOut } from '#core/base'
import type { ColourCalibration } from '#core/colour'
import type { Attitude } from '#core/formats'
import type { CfaPattern, Orientation, Region } from '#core/pixels'

/** Black level: a repeating pattern plus one delta per column and row, all counted from the active area's top-left. */
export interface BlackLevel {
  readonly repeatRows: number
  readonly repeatColumns: number
  /** repeatRows × repeatColumns × samplesPerPixel values, row-column-sample order. */
  readonly values: readonly number[]
  /** One per active-area column, added to the pattern; null when the file has none. */
  readonly deltaColumns: readonly number[] | null
  /** One per active-area row, added to the pattern; null when the file has none. */
  readonly deltaRows: readonly number[] | null
}

/** A strip or tile: where its samples go and where its bytes lie. Edge tiles may reach past the picture. */
export interface Segment extends Region {
  readonly offset: number
  readonly byteCount: number
}

/** Variance of one plane: scale·x + offset, x = linear signal 0..1 after black and white (DNG NoiseProfile). */
export interface NoiseTerm {
  readonly scale: number
  readonly offset: number
}

export interface OpcodeArea {
  readonly top: number
  readonly left: number
  readonly bottom: number
  readonly right: number
  readonly plane: number
  readonly planes: number
  readonly rowPitch: number
  readonly columnPitch: number
}

/** A gain per pixel, bilinear between map points; DNG 1.6 chapter 7, opcode 9. */
export interface GainMap {
  readonly area: OpcodeArea
  readonly pointsV: number
  readonly pointsH: number
  readonly spacingV: number
  readonly spacingH: number
  readonly originV: number
  readonly originH: number
  readonly mapPlanes: number
  /** [v][h][plane] */
  readonly gains: Float32Array
}

/** Corrected → source mapping, one set of terms per plane (or one for all); DNG 1.6 chapter 7, opcode 1. */
export interface WarpRectilinear {
  /** Each: kr0, kr1, kr2, kr3, kt0, kt1. */
  readonly planes: readonly (readonly [number, number, number, number, number, number])[]
  readonly centreX: number
  readonly centreY: number
}

/** Radial gain 1 + k0 r² + k1 r⁴ + … + k4 r¹⁰; DNG 1.6 chapter 7, opcode 3. */
export interface VignetteRadial {
  readonly terms: readonly [number, number, number, number, number]
  readonly centreX: number
  readonly centreY: number
}

/** One entry of an opcode list. `content` is parsed for the kinds that a stage here applies; others keep their bytes. */
export interface Opcode {
  readonly list: 1 | 2 | 3
  readonly id: number
  readonly name: string
  readonly version: number
  readonly optional: boolean
  readonly skipForPreview: boolean
  readonly content:
    | ({ readonly kind: 'gain-map' } & GainMap)
    | ({ readonly kind: 'warp-rectilinear' } & WarpRectilinear)
    | ({ readonly kind: 'vignette-radial' } & VignetteRadial)
    | { readonly kind: 'other'; readonly fields: Readonly<Record<string, readonly number[] | number>> }
}

export interface Position {
  readonly latitude: number
  readonly longitude: number
  readonly altitudeMetres: number | null
}

export interface TakenAt {
  /** ISO 8601 with Z, when the offset is known; else null. */
  readonly utc: string | null
  /** The camera's own clock, "YYYY-MM-DDTHH:MM:SS", no zone; null when absent or unreadable. */
  readonly camera: string | null
  readonly offsetMinutes: number | null
  /** Seconds, 0 ≤ s < 1; 0 when the file gives none. */
  readonly subSecond: number
}

/** Facts of one exposure that any still file may carry. Missing, zero or absurd values are null. */
export interface ExposureFacts {
  readonly exposureSeconds: number | null
  readonly fNumber: number | null
  readonly iso: number | null
  /** log2(N²/t) − log2(S/100), when all three are known. */
  readonly ev100: number | null
  readonly focalLengthMillimetres: number | null
  readonly takenAt: TakenAt
  /** The satellite receiver's time, ISO 8601 with Z, whole seconds; absent or null when the file gives none. */
  readonly receiverUtc?: string | null
  readonly make: string | null
  readonly model: string | null
  /** What the photographer had the camera write; absent or null when the file says nothing. */
  readonly artist?: string | null
  readonly copyright?: string | null
  readonly caption?: string | null
  readonly attitude: Attitude | null
  readonly position: Position | null
}

/** How the samples are packed in the file. */
export type Packing = 'none' | 'lossless-jpeg' | 'deflate'

/** What one stored sample is, and how samples are packed. */
export interface SampleFormat {
  readonly width: number
  readonly height: number
  readonly samples: 'cfa' | 'linear'
  readonly samplesPerPixel: 1 | 3
  readonly cfa: CfaPattern | null
  readonly bitsPerSample: number
  readonly packing: Packing
  /** The TIFF Compression value as the file has it. */
  readonly compression: number
  /** TIFF Predictor (1 none, 2 horizontal differencing) for deflate. */
  readonly predictor: number
}

/**
 * A raw file understood: where its samples lie and how they become linear. Coordinates of segments are of the whole
 * raw area (width × height); the active area's are too; crop, black and CFA count from the active area's top-left.
 */
export interface RawFile extends ExposureFacts, SampleFormat {
  readonly kind: 'dng'
  readonly littleEndian: boolean
  readonly segments: readonly Segment[]
  readonly linearisation: Uint16Array | null
  readonly black: BlackLevel
  /** One per sample of a pixel, after linearisation and before black. */
  readonly white: readonly number[]
  readonly activeArea: Region
  readonly maskedAreas: readonly Region[]
  /** The default crop, whole pixels, inside the active area and relative to it. */
  readonly crop: Region
  readonly orientation: Orientation
  readonly baselineExposureStops: number
  readonly noise: readonly NoiseTerm[] | null
  readonly colour: ColourCalibration
  readonly opcodes: readonly Opcode[]
  /** Tags or opcodes that were not used, each with a reason. */
  readonly leftOut: readonly LeftOut[]
}

/** A camera's finished picture: 8-bit JPEG. Its pixels come through a codec, not through this room. */
export interface RenderedFile extends ExposureFacts {
  readonly kind: 'jpeg'
  readonly width: number
  readonly height: number
  readonly samples: 'rendered'
  readonly bitsPerSample: number
  readonly orientation: Orientation
  readonly leftOut: readonly LeftOut[]
}
