import { Failure, type LeftOut } from '#core/base'
import type { Aircraft, CameraMode, OutingDocument, Viewpoint } from '#jobs/schemas'
import { type ExposureCamera, levelOf, type Subject, subjectById } from '#plan/exposure'
import { type Coordinates, type Lens, lensOf, type Obstacle, type StayPlan, type View } from '#plan/flight'

/** A viewpoint with what the plan's rooms want of it. */
export interface PlannedView extends View {
  readonly stated: Viewpoint
  readonly subject: Subject
  readonly subjectEv100: number
}

/** An outing in the terms of the plan's rooms, with whatever cannot be planned taken out. */
export interface PlanFacts {
  readonly outing: OutingDocument
  readonly place: Coordinates
  readonly home: Coordinates
  readonly camera: CameraMode
  readonly aircraft: Aircraft
  readonly exposureCamera: ExposureCamera
  readonly lens: Lens
  readonly obstacles: readonly Obstacle[]
  readonly views: readonly PlannedView[]
  readonly leftOut: readonly LeftOut[]
}

/**
 * @throws Failure usage "outing-lacks" (what a plan cannot do without), "camera-contradictory", "exposure-camera"
 */
export function planFacts(outing: OutingDocument, path: string): PlanFacts {
  const { site, camera, aircraft } = outing
  const lacks = (field: string) => new Failure('usage', 'outing-lacks', { path, field })
  if (site.latitude === null || site.longitude === null) throw lacks('site.latitude and site.longitude')
  if (camera === null) throw lacks('camera')
  if (aircraft === null) throw lacks('aircraft')
  const place = { latitude: site.latitude, longitude: site.longitude }
  const { views, leftOut } = viewsOf(outing)
  return {
    outing,
    place,
    home: site.home ?? place,
    camera,
    aircraft,
    exposureCamera: {
      fNumbers: camera.fNumbers,
      isos: camera.isos,
      shortestSeconds: camera.shortestSeconds,
      longestSeconds: camera.longestSeconds,
      patterns: camera.patterns,
      writeSeconds: camera.writeSeconds,
      fullWellElectrons: camera.fullWellElectrons,
      readElectrons: camera.readElectrons,
      ...(camera.readByIso ? { readByIso: camera.readByIso } : {}),
    },
    lens: lensOf(camera),
    obstacles: site.obstacles.map((o) => ({
      name: o.name,
      position: o.latitude === null || o.longitude === null ? null : { latitude: o.latitude, longitude: o.longitude },
      heightMetres: o.heightMetres,
      errorMetres: o.heightErrorMetres,
      radiusMetres: o.radiusMetres,
      source: o.source,
    })),
    views,
    leftOut,
  }
}

function viewsOf({ viewpoints, site }: OutingDocument): { views: PlannedView[]; leftOut: LeftOut[] } {
  const leftOut: LeftOut[] = []
  const names = new Set<string>()
  const views = viewpoints.flatMap((stated): PlannedView[] => {
    const subject = subjectById(stated.subject)
    if (!subject) {
      leftOut.push({ what: stated.name, reason: 'unknown-subject', facts: { subject: stated.subject } })
      return []
    }
    if (names.has(stated.name)) {
      leftOut.push({ what: stated.name, reason: 'name-twice', facts: {} })
      return []
    }
    names.add(stated.name)
    const { latitude, longitude, heightMetres, headingDegrees, tiltDegrees } = stated
    // What was learnt here stands for the lit walls of the place; other subjects keep the table's levels.
    const learnt = subject.id === 'floodlit' ? site.lampEv100 : null
    return [
      {
        stated,
        subject,
        subjectEv100: learnt ?? levelOf(subject),
        position: { latitude, longitude },
        heightMetres,
        headingDegrees,
        tiltDegrees,
      },
    ]
  })
  return { views, leftOut }
}

/** What the battery allows, with the way home at a height. */
export function stayPlanOf(
  { outing, place, home, aircraft }: PlanFacts,
  returnHeightMetres: number,
  transferHeightMetres: number | null,
): StayPlan {
  const { weather, site, intent } = outing
  return {
    aircraft,
    conditions: {
      temperatureCelsius: weather.temperatureCelsius,
      wind: {
        speedMetresPerSecond: weather.windMetresPerSecond,
        gustMetresPerSecond: weather.gustMetresPerSecond,
        fromDegrees: weather.windFromDegrees,
        measuredAtMetres: 10,
      },
      terrain: site.terrain,
    },
    takeOff: place,
    home,
    returnHeightMetres,
    ...(transferHeightMetres === null ? {} : { transferHeightMetres }),
    reserve: intent.reservePercent / 100,
  }
}

export const clearanceOf = ({ outing }: PlanFacts) => ({
  marginMetres: outing.intent.clearanceMetres,
  ceilingMetres: outing.site.ceilingMetres,
})
