import { seededRandom } from '#core/base'
import type { FrameLight } from './frame-light.ts'

export interface MadeLight {
  /** Exposure time in seconds; level 1 at one second of scene light 1 is white. */
  readonly seconds: number
  /** What the lamps do to the scene's light at a place and row, and what a flash adds (in scene light · seconds). */
  readonly lamps?: (x: number, y: number) => number
  readonly flash?: (x: number, y: number) => number
  /** Drift in cells. */
  readonly drift?: readonly [number, number]
}

export const NOISE = { scale: 1 / 6000, offset: (1.8 / 6000) ** 2 }

/** Cells of 48 × 16 pixels, as of 12 MP. Rows of windows, a street, dark ground and an even sky: 0.01 to 0.6. */
export function townLight(column: number, y: number): number {
  const x = 3 * column
  const sky = 0.05 / (1 + Math.exp((y - 55) / 2))
  const windows =
    y > 60 && y < 150 ? 0.18 * Math.max(0, Math.sin(0.7 * x)) ** 4 * Math.max(0, Math.sin(0.55 * y)) ** 4 : 0
  const street = 0.25 * Math.exp(-(((x - 130 - 0.2 * y) / 12) ** 2))
  return 0.012 + sky + windows + street + 0.02 * Math.sin(x / 9) ** 2 * Math.sin(y / 13) ** 2
}

/** The light of a bracket's cells by the noise model: what `frameLevels` hands on of each frame. */
export function madeBracket(
  frames: readonly MadeLight[],
  seed: number,
  scene: (x: number, y: number) => number = townLight,
  [columns, rows]: readonly [number, number] = [83, 188],
): FrameLight[] {
  const random = seededRandom(seed)
  return frames.map(({ seconds, lamps, flash, drift = [0, 0] }) => {
    const light = new Float32Array(columns * rows)
    for (let y = 0; y < rows; y++)
      for (let x = 0; x < columns; x++) {
        const level = scene(x - drift[0], y - drift[1]) * (lamps?.(x, y) ?? 1) * seconds + (flash?.(x, y) ?? 0)
        const noise = Math.sqrt((NOISE.scale * level + NOISE.offset) / 256)
        light[y * columns + x] = level > 0.9 ? Number.NaN : level + noise * random.normal()
      }
    return { columns, rows, light, noise: NOISE, exposureStops: Math.log2(seconds) }
  })
}
