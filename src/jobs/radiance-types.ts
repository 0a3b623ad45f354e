import type { LeftOut } from '#core/base'
import type { Address, Crew } from '#core/kernels'
import type { Merged } from '#picture/merge'
import type { ExposureFacts } from '#picture/raw'

/** A file that went into a product. */
export interface InputFile {
  readonly file: string
  readonly bytes: number
  readonly sha256: string
}

/** A radiance image in the crew's memory, upright and cropped, with all that its record says. */
export interface RadianceImage {
  readonly width: number
  readonly height: number
  /** f32, linear sRGB, 1.0 = saturation of the reference frame. */
  readonly planes: readonly [Address, Address, Address]
  /** f32, variance of the merged samples before colour. */
  readonly variance: Address
  /** Whether its rows stand as in a file of one float channel, each after EXR_ROW_HEAD_BYTES of free room; else they follow one another. */
  readonly varianceInFile: boolean
  /** Four bytes a pixel of the crew's memory that nobody uses any more; null where there is none. */
  readonly spare: Address | null
  readonly merged: Merged
  /** The frames that were merged, in the order of `merged.frames`. */
  readonly used: readonly { readonly file: string; readonly facts: ExposureFacts; readonly input: InputFile }[]
  readonly reference: number
  readonly source: 'raw' | 'rendered'
  readonly orientation: number
  readonly baselineExposureStops: number
  readonly noise: {
    readonly source: 'file' | 'estimated' | 'response' | 'assumed'
    readonly terms: readonly { readonly scale: number; readonly offset: number }[]
  }
  readonly colour: {
    readonly neutral: number[] | null
    readonly correlatedColourTemperatureKelvin: number | null
    readonly basis: string
  }
  readonly leftOut: readonly LeftOut[]
  readonly crew: Crew
}
