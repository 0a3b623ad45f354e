import { type ExposureCamera, readAt } from './camera.ts'
import { type Exposure, sensorExposure } from './ev.ts'

/** A pixel at an exposure: electrons of light, and whether the ISO's range holds them. */
export interface PixelCharge {
  readonly electrons: number
  readonly clipped: boolean
}

/** The exposure that saturates at ISO S is 78/S lx·s (ISO 12232); at the lowest ISO it fills the well. */
const SATURATION = 78

/**
 * Electrons that a luminance in cd/m² gives in one exposure. The sensor counts the same whatever the ISO; a higher ISO
 * only clips earlier, at F·(lowest/ISO).
 */
export function chargeOf(camera: ExposureCamera, exposure: Exposure, luminance: number): PixelCharge {
  const base = Math.min(...camera.isos)
  const light = sensorExposure(luminance, exposure.fNumber, exposure.seconds)
  const electrons = (camera.fullWellElectrons * light * base) / SATURATION
  return { electrons, clipped: light * exposure.iso >= SATURATION }
}

/** Signal over noise of a count of electrons with read noise: e/√(e + r²). */
export const snrOf = (electrons: number, readElectrons: number): number =>
  electrons <= 0 ? 0 : electrons / Math.sqrt(electrons + readElectrons * readElectrons)

/** In one frame; 0 where it clips. */
export function frameSnr(camera: ExposureCamera, exposure: Exposure, luminance: number): number {
  const { electrons, clipped } = chargeOf(camera, exposure, luminance)
  return clipped ? 0 : snrOf(electrons, readAt(camera, exposure.iso))
}

/**
 * Of an inverse-variance merge of the frames that do not clip: squares of signal over noise add (Hasinoff, Durand,
 * Freeman 2010). 0 where every frame clips.
 */
export const mergedSnr = (camera: ExposureCamera, exposures: readonly Exposure[], luminance: number): number =>
  Math.sqrt(exposures.reduce((sum, e) => sum + frameSnr(camera, e, luminance) ** 2, 0))

/** Noise of a merge over the noise of one of its frames at a luminance; null where that frame has no value. */
export function gainOverFrame(
  camera: ExposureCamera,
  exposures: readonly Exposure[],
  frame: Exposure,
  luminance: number,
): number | null {
  const single = frameSnr(camera, frame, luminance)
  return single > 0 ? mergedSnr(camera, exposures, luminance) / single : null
}
