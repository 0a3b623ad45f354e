import { keptFacts } from '#picture/export'
import type { FileSettings, Pixels8, PrintFormat } from './contract/index.ts'
import { avifFile, jpegFile, losslessFile } from './print-display.ts'
import { hdrJpegFile } from './print-gain-map.ts'
import { AVIF_QUALITY, type FileSource, JPEG_QUALITY, type MadeFile, type Maker } from './print-made.ts'
import { dngFile, exrFile } from './print-scene.ts'

/** Quality that a format takes when none is asked for; null where it loses nothing. */
export const usualQuality = (format: PrintFormat): number | null =>
  format === 'jpeg' || format === 'hdr-jpeg' ? JPEG_QUALITY : format === 'avif' ? AVIF_QUALITY : null

export const endings: Readonly<Record<PrintFormat, string>> = {
  jpeg: '.jpg',
  'hdr-jpeg': '.hdr.jpg',
  avif: '.avif',
  tiff: '.tif',
  png: '.png',
  exr: '.exr',
  dng: '.dng',
}

/** Makes one file of a print in memory. `copy` gets the pixels of a plain JPEG while they are encoded. */
export function makeFile(
  source: FileSource,
  settings: FileSettings,
  copy: ((pixels: Pixels8) => Promise<void>) | null,
): Promise<MadeFile> {
  const makers: Readonly<Record<PrintFormat, Maker>> = {
    jpeg: jpegFile(copy),
    'hdr-jpeg': hdrJpegFile,
    avif: avifFile,
    tiff: losslessFile('tiff'),
    png: losslessFile('png'),
    exr: exrFile,
    dng: dngFile,
  }
  return makers[settings.format]({ ...source, facts: keptFacts(source.facts, settings.keep) }, settings)
}
