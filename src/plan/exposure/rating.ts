import { type ExposureCamera, readAt } from './camera.ts'
import type { Exposure } from './ev.ts'
import { chargeOf } from './snr.ts'

/** Levels at most half a stop apart from the darkest to the brightest, both included; cd/m². */
export function sceneLevels(darkest: number, brightest: number): number[] {
  const stops = Math.max(0, Math.log2(brightest / darkest))
  const count = Math.ceil(2 * stops - 1e-9)
  if (count === 0) return [darkest]
  return Array.from({ length: count + 1 }, (_, i) => darkest * 2 ** ((stops * i) / count))
}

export interface Rating {
  /** Levels that every frame clips. */
  readonly lostLevels: number
  /** Levels whose merged signal does not reach its noise. */
  readonly buriedLevels: number
  /** Least merged signal over noise of the levels that are not lost; 0 when all are. */
  readonly worstSnr: number
}

/** How well a bracket holds a scene. */
export function rate(camera: ExposureCamera, exposures: readonly Exposure[], levels: readonly number[]): Rating {
  // Charge is proportional to luminance, and clipping begins at one level: both once a frame.
  const frames = exposures.map((e) => {
    const { electrons } = chargeOf(camera, e, 1)
    const full = (camera.fullWellElectrons * Math.min(...camera.isos)) / e.iso
    return { electrons, limit: full / electrons, variance: readAt(camera, e.iso) ** 2 }
  })
  let [lostLevels, buriedLevels, worst] = [0, 0, Number.POSITIVE_INFINITY]
  for (const level of levels) {
    let squares = 0
    for (const { electrons, limit, variance } of frames) {
      if (level >= limit) continue
      const e = electrons * level
      squares += (e * e) / (e + variance)
    }
    if (squares === 0) lostLevels++
    else {
      if (squares < 1) buriedLevels++
      if (squares < worst) worst = squares
    }
  }
  return { lostLevels, buriedLevels, worstSnr: Number.isFinite(worst) ? Math.sqrt(worst) : 0 }
}
