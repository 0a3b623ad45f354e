import type { LeftOut } from '#core/base'
import { type OutingDocument, outingSchema } from '#jobs/schemas'
import { type Obstacle, type ReconViewpoint, readRecon } from '#plan/flight'
import type { Host } from './contract/index.ts'
import { readHeaders } from './headers.ts'
import { filesBelow, findOuting } from './outing.ts'
import { readOutingDocument } from './outing-document.ts'

export interface ReconResult {
  readonly viewpoints: readonly string[]
  readonly obstacles: readonly string[]
  readonly leftOut: readonly LeftOut[]
}

const six = (degrees: number) => Number(degrees.toFixed(7))
const tenth = (metres: number) => Number(metres.toFixed(1))

const viewpointEntry = (v: ReconViewpoint) => ({
  name: v.name.slice(0, 80),
  latitude: six(v.position.latitude),
  longitude: six(v.position.longitude),
  heightMetres: Math.max(0, tenth(v.heightMetres)),
  headingDegrees: tenth(v.headingDegrees),
  tiltDegrees: tenth(v.tiltDegrees),
})

const obstacleEntry = (o: Obstacle) => ({
  name: o.name.slice(0, 80),
  latitude: o.position === null ? null : six(o.position.latitude),
  longitude: o.position === null ? null : six(o.position.longitude),
  heightMetres: Math.max(0, tenth(o.heightMetres)),
  heightErrorMetres: tenth(o.errorMetres),
  radiusMetres: tenth(o.radiusMetres),
  source: o.source.slice(0, 200),
})

/**
 * Photographs of a daylight flight become viewpoints and obstacles of an outing. What outing.json already names is kept as
 * it stands; nothing is taken out. Writes outing.json.
 * @throws Failure io (folders), and whatever reading outing.json throws
 */
export async function importRecon(host: Host, folder: string, photos: string): Promise<ReconResult> {
  const { files } = host
  const outing = await readOutingDocument(files, folder)
  const { entries, leftOut } = await readHeaders(host, await filesBelow(files, await findOuting(files, photos)))
  const read = readRecon(
    entries.flatMap((e) =>
      e.kind === 'other'
        ? []
        : [
            {
              file: e.file,
              position: e.facts.position,
              relativeHeightMetres: e.facts.attitude?.relativeHeightMetres ?? null,
              gimbalYaw: e.facts.attitude?.gimbalYaw ?? null,
              gimbalPitch: e.facts.attitude?.gimbalPitch ?? null,
              takenAt: e.facts.takenAt.camera,
            },
          ],
    ),
  )
  const knownViews = new Set(outing.viewpoints.map((v) => v.name))
  const knownThings = new Set(outing.site.obstacles.map((o) => o.name))
  const viewpoints = read.viewpoints.map(viewpointEntry).filter((v) => !knownViews.has(v.name))
  const obstacles = read.obstacles.map(obstacleEntry).filter((o) => !knownThings.has(o.name))
  const document: OutingDocument = outingSchema.parse({
    ...outing,
    site: { ...outing.site, obstacles: [...outing.site.obstacles, ...obstacles] },
    viewpoints: [...outing.viewpoints, ...viewpoints].slice(0, MOST_VIEWPOINTS),
  })
  await files.write(files.join(folder, 'outing.json'), `${JSON.stringify(document, null, 2)}\n`)
  const over = viewpoints.slice(Math.max(0, MOST_VIEWPOINTS - outing.viewpoints.length))
  return {
    viewpoints: viewpoints.filter((v) => !over.includes(v)).map((v) => v.name),
    obstacles: obstacles.map((o) => o.name),
    leftOut: [
      ...leftOut,
      ...read.leftOut,
      ...over.map((v) => ({ what: v.name, reason: 'too-many-views', facts: { limit: MOST_VIEWPOINTS } })),
    ],
  }
}

/** What one evening and one card hold. */
const MOST_VIEWPOINTS = 12
