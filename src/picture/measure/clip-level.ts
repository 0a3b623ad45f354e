import { LEVEL_BINS } from '#core/kernels'
import type { FourPhases, LevelFrame } from './level-frame.ts'

/** Codes are gathered in bins of this many codes, as a power of two: 4096 bins reach past the white level. */
export const binShift = (white: number): number => Math.max(0, Math.ceil(Math.log2((white + 1) / LEVEL_BINS)))

/**
 * A plateau and the levels under it are looked at in windows of this share of the range: narrower than the noise of any
 * evenly lit wall at LEAST_LEVEL, even for wells of 200,000 electrons, so that no wall passes for one.
 */
const WINDOW = 0.0015
const LEAST_LEVEL = 0.25
/** A plateau holds this many times what stands in the window under it, and this share of the samples. */
const CROWD = 4
const LEAST_SHARE = 2e-5

/**
 * The code from which each phase counts as clipped. As a rule that is the file's white level. Some cameras multiply a colour
 * before they write it, or state a white that is never reached: then the topmost codes are crowded, as no scene makes
 * them (a histogram's last bins hold at least four times those under them), and the plateau's foot is the limit. `tables`:
 * LEVEL_BINS counts for each of four phases.
 */
export function clipLevels(tables: Uint32Array, { white, range }: Pick<LevelFrame, 'white' | 'range'>): FourPhases {
  const shift = binShift(white)
  const whiteBin = Math.min(white >> shift, LEVEL_BINS - 1)
  const window = Math.max(2, Math.round((WINDOW * range) / 2 ** shift))
  // A little below white: samples that a camera dithers about its saturation count too.
  const stated = Math.max(1, Math.round(white - 0.0025 * range))
  const least = (white - range + LEAST_LEVEL * range) / 2 ** shift
  return [0, 1, 2, 3].map((phase) => {
    const counts = tables.subarray(phase * LEVEL_BINS, (phase + 1) * LEVEL_BINS)
    let top = LEVEL_BINS - 1
    while (top > 0 && counts[top] === 0) top--
    if (top >= whiteBin - window || top < Math.max(least, 2 * window)) return stated
    const sum = (from: number, to: number) => counts.subarray(from, to).reduce((a, v) => a + v, 0)
    const total = sum(0, LEVEL_BINS)
    const crowd = sum(top - window + 1, top + 1)
    const under = sum(top - 2 * window + 1, top - window + 1)
    return crowd > CROWD * under + Math.max(20, LEAST_SHARE * total) ? (top - window + 1) << shift : stated
  }) as unknown as FourPhases
}
