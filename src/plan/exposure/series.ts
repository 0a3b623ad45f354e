/** What dials say and what they do: thirds of a stop, rounded to the customary figures (ISO 2721's series, common practice). */
const shutterNames = [
  8000, 6400, 5000, 4000, 3200, 2500, 2000, 1600, 1250, 1000, 800, 640, 500, 400, 320, 250, 200, 160, 125, 100, 80, 60,
  50, 40, 30, 25, 20, 15, 13, 10, 8, 6, 5, 4,
].map((n) => 1 / n)
const slowNames = [0.3, 0.4, 0.5, 0.6, 0.8, 1, 1.3, 1.6, 2, 2.5, 3.2, 4, 5, 6, 8, 10, 13, 15, 20, 25, 30]

/** One step of a dial: the time it is called by, and the time it is, a power of two in thirds; seconds. */
export interface ShutterStep {
  readonly nominalSeconds: number
  readonly exactSeconds: number
}

/** From 1/8000 s to 30 s. */
export const shutterSeries: readonly ShutterStep[] = [...shutterNames, ...slowNames].map((nominalSeconds, i) => ({
  nominalSeconds,
  exactSeconds: 2 ** ((i - 39) / 3),
}))

/** The dial's name for an exact time: the nearest step when it is within a sixth of a stop, else the time itself. */
export function nominalSeconds(exactSeconds: number): number {
  const thirds = Math.round(3 * Math.log2(exactSeconds))
  const step = shutterSeries[thirds + 39]
  if (step && Math.abs(3 * Math.log2(exactSeconds) - thirds) < 0.2) return step.nominalSeconds
  return Number(exactSeconds.toPrecision(3))
}
