import { Failure } from '#core/base'
import { type OutingDocument, outingSchema } from '#jobs/schemas'
import type { Files } from './contract/index.ts'

export interface NewOuting {
  readonly title: string
  readonly date: string
  readonly latitude: number
  readonly longitude: number
  readonly timeZone: string | null
}

/**
 * Figures to begin with: a 12-megapixel mode of a small sensor (9.6 × 7.2 mm, the 1/1.3-inch class) behind a lens of
 * 24 mm equivalent, and a small aircraft. Assumptions from common practice, no source; the document says so, and whoever
 * plans with it puts the figures of the own camera in.
 */
const camera = {
  name: 'a small camera, figures assumed',
  widthPixels: 4032,
  heightPixels: 3024,
  sensorWidthMillimetres: 9.6,
  sensorHeightMillimetres: 7.2,
  focalLengthMillimetres: 6.72,
  fNumbers: [1.7],
  isos: [100, 200, 400, 800, 1600],
  shortestSeconds: 1 / 8000,
  longestSeconds: 8,
  patterns: [
    { frames: 3, stepStops: 2 / 3 },
    { frames: 5, stepStops: 2 / 3 },
    { frames: 7, stepStops: 2 / 3 },
    { frames: 5, stepStops: 1 },
  ],
  writeSeconds: 0.5,
  fullWellElectrons: 6000,
  readElectrons: 1.8,
  megabytesPerFrame: 30,
}

const aircraft = { ratedMinutes: 34, batteries: 2 }

/** A first outing.json: every field with its default, ready to be edited. */
export const newOuting = ({ title, date, latitude, longitude, timeZone }: NewOuting): OutingDocument =>
  outingSchema.parse({
    schema: 'outing/1',
    title,
    date,
    site: { name: title, latitude, longitude, timeZone },
    camera,
    aircraft,
    notes: 'Camera and aircraft are assumed figures: put yours in. Viewpoints come from a recon flight or by hand.',
  })

/**
 * Writes a first outing.json into a folder that has none, and makes the folder.
 * @throws Failure usage "outing-exists"
 */
export async function startOuting(files: Files, folder: string, outing: NewOuting): Promise<OutingDocument> {
  const path = files.join(folder, 'outing.json')
  if (await files.exists(path)) throw new Failure('usage', 'outing-exists', { path })
  const document = newOuting(outing)
  await files.makeDirectory(folder)
  await files.write(path, `${JSON.stringify(document, null, 2)}\n`)
  return document
}
