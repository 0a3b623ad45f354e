/** The display spaces of a print; both have the transfer function of IEC 61966-2-1. */
export type PrintSpace = 'srgb' | 'display-p3'

/** A print in memory: width × height × 3 codes, interleaved, encoded for `space`. 8 bits are dithered already. */
export interface PrintImage<Codes extends Uint8Array | Uint16Array = Uint8Array | Uint16Array> {
  readonly width: number
  readonly height: number
  readonly space: PrintSpace
  readonly data: Codes
}

export type PrintImage8 = PrintImage<Uint8Array>
export type PrintImage16 = PrintImage<Uint16Array>

/**
 * The same print for a brighter display: 65535 stands for 2^headroomStops times the white of the ordinary one. In that
 * measure it shows what the ordinary one had to compress.
 */
export interface BrighterImage extends PrintImage16 {
  readonly headroomStops: number
}
