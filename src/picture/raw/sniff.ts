import { Failure } from '#core/base'
import { isJpeg, isTiff, readTiff } from '#core/formats'

/** DNGVersion: its presence in the first directory makes a TIFF file a DNG file. */
export const DNG_VERSION = 50706

/**
 * What a file is by its first bytes; its name is not asked. Never throws on bad input: a TIFF structure whose first
 * directory cannot be seen is "tiff", also when `bytes` are only the head of the file and the directory lies behind it.
 */
export function sniff(bytes: Uint8Array, fileBytes = bytes.length): 'dng' | 'jpeg' | 'tiff' | 'unknown' {
  if (isJpeg(bytes)) return 'jpeg'
  if (!isTiff(bytes)) return 'unknown'
  try {
    return readTiff(bytes, fileBytes).directories[0]!.fields.has(DNG_VERSION) ? 'dng' : 'tiff'
  } catch (error) {
    if (error instanceof Failure) return 'tiff'
    throw error
  }
}
