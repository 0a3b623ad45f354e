import { within } from './range.ts'

/** Milliseconds since 1970-01-01 00:00 UTC. */
export type Instant = number

/** Below about 10 lux cameras that look for obstacles no longer see them (several small aircraft's manuals; some say 15). */
export const SENSING_LUX = 10

export type SensingBlind =
  | { readonly from: Instant; readonly why: null; readonly thresholdLux: number }
  | {
      readonly from: null
      readonly why: 'blind-all-along' | 'bright-all-along' | 'light-not-known'
      readonly thresholdLux: number
    }

/**
 * When the light on the ground falls below what obstacle sensing needs, from a run of light against time in order: the first moment after
 * which it stays below until the end. Between samples the logarithm of light is taken as a straight line.
 */
export function sensingBlindFrom(
  light: readonly { readonly at: Instant; readonly lux: number }[],
  thresholdLux = SENSING_LUX,
): SensingBlind {
  within('thresholdLux', thresholdLux, 1e-6, 1e6)
  for (const sample of light) within('lux', sample.lux, 0, 1e6)
  let lastBright = -1
  for (let i = 0; i < light.length; i++) if (light[i]!.lux >= thresholdLux) lastBright = i
  if (light.length === 0) return { from: null, why: 'light-not-known', thresholdLux }
  if (lastBright === -1) return { from: null, why: 'blind-all-along', thresholdLux }
  if (lastBright === light.length - 1) return { from: null, why: 'bright-all-along', thresholdLux }
  const bright = light[lastBright]!
  const dark = light[lastBright + 1]!
  const logDark = Math.log(Math.max(dark.lux, 1e-9))
  const logBright = Math.log(bright.lux)
  const part = (logBright - Math.log(thresholdLux)) / (logBright - logDark)
  return { from: bright.at + part * (dark.at - bright.at), why: null, thresholdLux }
}
