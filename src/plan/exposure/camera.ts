import { Failure } from '#core/base'

export interface Pattern {
  readonly frames: number
  readonly stepStops: number
}

/** What of a camera decides about exposure. Electrons at the lowest ISO. */
export interface ExposureCamera {
  readonly fNumbers: readonly number[]
  readonly isos: readonly number[]
  readonly shortestSeconds: number
  readonly longestSeconds: number
  readonly patterns: readonly Pattern[]
  readonly writeSeconds: number
  readonly fullWellElectrons: number
  readonly readElectrons: number
  /** Where it is known to differ by ISO; between two of them it is interpolated over the logarithm of the ISO. */
  readonly readByIso?: readonly { readonly iso: number; readonly electrons: number }[]
}

/** Read noise at an ISO, electrons. */
export function readAt({ readElectrons, readByIso }: ExposureCamera, iso: number): number {
  if (!readByIso || readByIso.length === 0) return readElectrons
  const rows = [...readByIso].sort((a, b) => a.iso - b.iso)
  const above = rows.findIndex((r) => r.iso >= iso)
  if (above < 0) return rows.at(-1)!.electrons
  if (above === 0) return rows[0]!.electrons
  const [a, b] = [rows[above - 1]!, rows[above]!]
  const share = Math.log(iso / a.iso) / Math.log(b.iso / a.iso)
  return a.electrons + share * (b.electrons - a.electrons)
}

/**
 * Passes a camera whose facts go together.
 * @throws Failure usage "exposure-camera" with the fact that does not
 */
export function checkExposureCamera(camera: ExposureCamera): ExposureCamera {
  const wrong = (fact: string, found: unknown) =>
    new Failure('usage', 'exposure-camera', { fact, found: String(found) })
  const positive = (fact: string, value: number) => {
    if (!(value > 0 && Number.isFinite(value))) throw wrong(fact, value)
  }
  const each = (fact: string, values: readonly number[]) => {
    if (values.length === 0) throw wrong(fact, 'none')
    for (const v of values) positive(fact, v)
  }
  each('fNumbers', camera.fNumbers)
  each('isos', camera.isos)
  positive('shortestSeconds', camera.shortestSeconds)
  positive('longestSeconds', camera.longestSeconds)
  if (camera.shortestSeconds > camera.longestSeconds) throw wrong('shortestSeconds', 'longer than longestSeconds')
  if (!(camera.writeSeconds >= 0 && Number.isFinite(camera.writeSeconds)))
    throw wrong('writeSeconds', camera.writeSeconds)
  positive('fullWellElectrons', camera.fullWellElectrons)
  positive('readElectrons', camera.readElectrons)
  if (camera.readElectrons >= camera.fullWellElectrons) throw wrong('readElectrons', 'not below fullWellElectrons')
  for (const { iso, electrons } of camera.readByIso ?? []) {
    positive('readByIso.iso', iso)
    positive('readByIso.electrons', electrons)
  }
  if (camera.patterns.length === 0) throw wrong('patterns', 'none')
  for (const { frames, stepStops } of camera.patterns) {
    if (!Number.isInteger(frames) || frames < 1 || frames > 15) throw wrong('patterns.frames', frames)
    if (frames > 1) positive('patterns.stepStops', stepStops)
  }
  return camera
}
