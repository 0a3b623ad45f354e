/** Saturation-based speed: exposure in lux seconds that saturates is 78 / S (ISO 12232). */
const SATURATION_EXPOSURE = 78
/** Focal-plane exposure per scene luminance, q of ISO 12232: lens transmittance 0.9, cos⁴ and vignetting on average. */
const LENS_FACTOR = 0.65

/**
 * Luminance in cd/m² that saturates the sensor: 78/(0.65·S) · N²/t. ISO 12232, saturation-based speed; 78 was seen in
 * an extract of the standard and 0.65 in published derivations, the standard itself was not. Caveats: a camera's stated
 * S is as a rule the standard output sensitivity or a recommended index, not the saturation speed, so the true clipping
 * level may stand 0.5 to 1.5 stops away; q holds for the middle of the picture; lamps far from daylight spectra clip
 * in one plane first. Use it to label a picture with approximate luminances, never to meter.
 */
export function saturationLuminance(fNumber: number, exposureSeconds: number, iso: number): number {
  return ((SATURATION_EXPOSURE / LENS_FACTOR) * fNumber ** 2) / (exposureSeconds * iso)
}
