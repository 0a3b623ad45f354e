import type { Crew } from '#core/kernels'
import type { Disk } from './disk.ts'

export interface DirectoryEntry {
  readonly name: string
  readonly path: string
  readonly isDirectory: boolean
  readonly bytes: number
}

/** A file that is on the disk whole, under a temporary name: it takes its place, or goes. */
export interface LaidAside {
  /** With `replace` false a file that is there already stays: Failure io "file-there". Default true. */
  place(options?: { readonly replace?: boolean }): Promise<void>
  drop(): Promise<void>
}

/** Files as jobs may use them. Every failure is a `Failure` of kind io, with the path among its facts. */
export interface Files {
  list(directory: string): Promise<DirectoryEntry[]>
  exists(path: string): Promise<boolean>
  isDirectory(path: string): Promise<boolean>
  size(path: string): Promise<number>
  read(path: string): Promise<Uint8Array>
  /** At most `bytes` from the start: enough for a header. */
  readHead(path: string, bytes: number): Promise<Uint8Array>
  /** Bytes from `at` on into `into`; returns how many there were. */
  readAt(path: string, at: number, into: Uint8Array): Promise<number>
  /** The whole file into `into` (which may view shared memory); returns the bytes read. */
  readInto(path: string, into: Uint8Array): Promise<number>
  /**
   * Temporary file beside the target, written, synced, renamed: the old file or the new one, never half. With `replace`
   * false a file that is there already stays: Failure io "file-there". Default true.
   */
  write(
    path: string,
    parts: Uint8Array | string | readonly Uint8Array[],
    options?: { readonly replace?: boolean },
  ): Promise<void>
  /** The same in two steps, so that files which belong together take their places only once all of them are whole. */
  layAside(path: string, parts: Uint8Array | string | readonly Uint8Array[]): Promise<LaidAside>
  makeDirectory(path: string): Promise<void>
  remove(path: string): Promise<void>
  join(...parts: string[]): string
  resolve(path: string): string
  baseName(path: string): string
  directoryName(path: string): string
  /** Files as a verified copy needs them. */
  readonly disk: Disk
}

export interface Pixels8 {
  readonly width: number
  readonly height: number
  readonly channels: 1 | 3
  readonly data: Uint8Array
}

export interface PictureMetadata {
  /** Complete TIFF-structured Exif block without the "Exif\0\0" prefix; null writes none. */
  readonly exif: Uint8Array | null
  /** ICC profile to embed; the pixels are already in it and are not converted. */
  readonly icc: Uint8Array
  /** A whole XMP packet of our own. */
  readonly xmp?: Uint8Array | null
}

/** Three samples a pixel, interleaved. */
export interface Pixels16 {
  readonly width: number
  readonly height: number
  readonly data: Uint16Array
}

/** Picture codecs of a general-purpose library. */
export interface Codec {
  /** Decodes a JPEG or PNG to 8-bit samples as stored: no rotation, no colour conversion. */
  decode(bytes: Uint8Array): Promise<Pixels8>
  encodeJpeg(pixels: Pixels8, quality: number, metadata: PictureMetadata): Promise<Uint8Array>
  /** The coded picture alone, for putting into a larger file. */
  encodeBareJpeg(pixels: Pixels8, quality: number): Promise<Uint8Array>
  encodeTiff16(pixels: Pixels16, metadata: PictureMetadata): Promise<Uint8Array>
  encodePng16(pixels: Pixels16, metadata: PictureMetadata): Promise<Uint8Array>
  /** AVIF of 10 bits, full colour resolution; `primaries` are those that the pixels are in. */
  encodeAvif(
    pixels: Pixels16,
    quality: number,
    primaries: 'srgb' | 'display-p3',
    metadata: PictureMetadata,
  ): Promise<Uint8Array>
  /** Any written picture as 16 bits a sample, as stored: no colour conversion. */
  decode16(bytes: Uint8Array): Promise<Pixels16>
  /** The gain map of a JPEG as the library finds it, a JPEG of its own; null where it finds none. */
  gainMapIn(bytes: Uint8Array): Promise<Uint8Array | null>
  /** Area-averaged reduction to at most `longSide` pixels. */
  reduce(pixels: Pixels8, longSide: number): Promise<Pixels8>
  /** A second reader's account of a written picture: size, ICC name, whether Exif and XMP are there. */
  probe(
    bytes: Uint8Array,
  ): Promise<{ width: number; height: number; format: string; hasProfile: boolean; hasExif: boolean; hasXmp: boolean }>
}

export interface Progress {
  /** A stage of the work, in words for the user; done of total. */
  readonly stage: string
  readonly done: number
  readonly total: number
}

/** All that a job may ask of the machine. Jobs are pure functions from files to files through this. */
export interface Host {
  readonly files: Files
  readonly codec: Codec
  /** A crew with at least this much shared memory; the caller closes it. */
  crew(bytes: number): Promise<Crew>
  /** Says that a crew will be wanted soon, so that its threads can start; hosts without threads have none of it. */
  readonly prepareCrew?: () => void
  md5(bytes: Uint8Array): string
  sha256(bytes: Uint8Array): string
  /** A steady clock in seconds, for telling how long work took. */
  seconds(): number
  progress(event: Progress): void
  /** Throws a Failure of kind aborted once the user has asked to stop. */
  throwIfStopped(): void
  readonly version: string
}
