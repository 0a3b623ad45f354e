import type { FrameLevels } from './frame-levels.ts'
import { STOPS } from './scene-stops.ts'

const even = Array.from({ length: STOPS }, () => 1 / STOPS)

/** A frame's levels without a fault, and what a test changes of them. */
export function levels(over: Partial<FrameLevels> = {}): FrameLevels {
  return {
    ...{ basis: 'raw', width: 4000, height: 3000, clipsEarly: false, noise: null, banding: null },
    clipped: { r: 0, g: 0, b: 0 },
    stops: { r: even, g: even, b: even, luma: even },
    buried: [0.01, 0.005, 0.002, 0, 0, 0, 0],
    ...{ blackAtMostCodes: 0.1, tilt: null },
    ...over,
  }
}
