/**
 * Exposure by the standards' constants. Luminance to exposure by K = 12.5 (ISO 2720:1974 recommends 10.6 to 13.4; makers
 * use 12.5 or 14); light on a flat receptor by C = 250 (330 for a dome). The two are different questions: together they
 * imply a grey of π·12.5/250 = 15.7 %, not 18 %, so that going from lux to EV by one or the other differs by 0.2 to 0.6 EV.
 */
export const METER_K = 12.5
export const INCIDENT_C = 250
export const INCIDENT_C_DOME = 330

/** f-number, seconds, ISO. */
export interface Exposure {
  readonly fNumber: number
  readonly seconds: number
  readonly iso: number
}

/** EV = log₂(N²/t). */
export const exposureValue = (fNumber: number, seconds: number): number => Math.log2((fNumber * fNumber) / seconds)

/** EV at ISO 100: EV − log₂(S/100). */
export const ev100Of = ({ fNumber, seconds, iso }: Exposure): number =>
  exposureValue(fNumber, seconds) - Math.log2(iso / 100)

/** The shutter time in seconds that a level asks for at an f-number and ISO. */
export const secondsFor = (ev100: number, fNumber: number, iso: number): number =>
  ((fNumber * fNumber) / 2 ** ev100) * (100 / iso)

/** EV100 whose metered luminance is L, cd/m²: log₂(100 L/K) = log₂(8 L). */
export const ev100OfLuminance = (luminance: number): number => Math.log2((100 * luminance) / METER_K)
export const luminanceOfEv100 = (ev100: number): number => (2 ** ev100 * METER_K) / 100

/** EV100 of the light on a subject, lux. */
export const ev100OfLux = (lux: number, c = INCIDENT_C): number => Math.log2((100 * lux) / c)
export const luxOfEv100 = (ev100: number, c = INCIDENT_C): number => (2 ** ev100 * c) / 100

/** APEX, as Exif has it: Av = 2 log₂ N, Tv = −log₂ t, Sv = log₂(S/3.125); Av + Tv = Bv + Sv. */
export const apex = {
  aperture: (fNumber: number): number => 2 * Math.log2(fNumber),
  time: (seconds: number): number => -Math.log2(seconds),
  speed: (iso: number): number => Math.log2(iso / 3.125),
}

/**
 * cd/m² of an Exif BrightnessValue, a foot-lambert scale: 2^Bv/(π·0.3048²). That is K = 10.7, and reading EV100 = Bv + 5
 * with K = 12.5 gives 4.00 instead of 3.43 cd/m² for Bv 0: 0.22 EV apart.
 */
export const luminanceOfBrightnessValue = (bv: number): number => 2 ** bv / (Math.PI * 0.3048 ** 2)
export const brightnessValueOf = (luminance: number): number => Math.log2(luminance * Math.PI * 0.3048 ** 2)

/** Share of the light that reaches the sensor: lens, falloff and angle together (ISO 12232). */
const LENS_SHARE = 0.65
/** Exposure that saturates at a speed, lx·s times ISO (ISO 12232, saturation speed). */
const SATURATION = 78

/** Luminance that just saturates, cd/m²: 78 N²/(0.65 S t) = 1.2·2^EV100. */
export const saturationLuminance = ({ fNumber, seconds, iso }: Exposure): number =>
  (SATURATION / (LENS_SHARE * iso)) * ((fNumber * fNumber) / seconds)

/** Light on the sensor, lx·s, of a luminance in cd/m². */
export const sensorExposure = (luminance: number, fNumber: number, seconds: number): number =>
  (LENS_SHARE * luminance * seconds) / (fNumber * fNumber)
