import { rgbProfile, writeXmp } from '#core/formats'
import type { Arena } from '#core/kernels'
import { type Difference, exifBlock, type PrintFacts, type PrintSpace, type Size } from '#picture/export'
import type { RadiancePlanes } from '#picture/finish'
import type { FileSettings, Host, PictureMetadata } from './contract/index.ts'
import type { PrintPixels } from './print-pixels.ts'

/** What a file of a print is made from. */
export interface FileSource {
  readonly host: Host
  readonly arena: Arena
  readonly planes: RadiancePlanes
  readonly pixels: PrintPixels
  readonly facts: PrintFacts
  readonly candelaPerSquareMetrePerUnit: number | null
}

/** A file's bytes and how to tell, from the bytes that are on disk in the end, whether its pixels are the ones meant. */
export interface MadeFile extends Size {
  readonly bytes: Uint8Array
  readonly profile: string
  readonly kept: readonly string[]
  readonly figures: Readonly<Record<string, number>>
  readonly reader: string
  check(found: Uint8Array): Promise<Difference>
}

/** Visually free of coding errors at the largest size that is printed; see docs/decisions/0004-look.md. */
export const JPEG_QUALITY = 92
/** About the error of that JPEG at half its bytes. */
export const AVIF_QUALITY = 80
/** What the record calls the reader of the formats that a picture library knows. */
export const LIBRARY = 'picture library'

/** The texts once more as XMP, which knows languages and letters of all kinds; null when there are none. */
export function xmpOf(
  facts: PrintFacts,
): { creator: string | null; rights: string | null; description: string | null } | null {
  const { artist, copyright, caption } = facts
  return artist || copyright || caption ? { creator: artist, rights: copyright, description: caption } : null
}

interface Described {
  readonly metadata: PictureMetadata
  readonly kept: readonly string[]
}

export function described(source: FileSource, size: Size, space: PrintSpace): Described {
  const block = exifBlock(source.facts, { ...size, space, software: softwareOf(source.host) })
  const about = xmpOf(source.facts)
  return {
    metadata: { exif: block.bytes, icc: rgbProfile(space), xmp: about && writeXmp(about) },
    kept: block.kept,
  }
}

export const softwareOf = (host: Host) => `Duskwork ${host.version}`

export type Maker = (source: FileSource, settings: FileSettings) => Promise<MadeFile>

export const sizeOf = ({ width, height }: Size): Size => ({ width, height })
