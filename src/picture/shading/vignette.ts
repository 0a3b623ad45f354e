import type { Address, TaskContext } from '#core/kernels'
import type { VignetteRadial } from '#picture/raw'
import { stripRows } from './gain-rows.ts'
import { radialOf } from './radial.ts'

/** One radial gain over several planes and their variances. */
export interface VignetteStep {
  readonly planes: readonly Address[]
  readonly variances: readonly Address[]
  readonly width: number
  readonly height: number
  readonly vignette: VignetteRadial
}

/** Task: the rows of one strip times 1 + k0 r² + … + k4 r¹⁰, r taken at pixel centres; variances times its square. */
export function vignetteRows({ kernels, memory, scratch }: TaskContext, step: VignetteStep, item: number): void {
  const { width, height, vignette } = step
  const { centreX, centreY, reach } = radialOf(width, height, vignette.centreX, vignette.centreY)
  const gains = scratch + 64
  memory.f32(scratch, 5).set(vignette.terms)
  const { from, to } = stripRows(item, height)
  for (let row = from; row < to; row++) {
    kernels.vignetteLine(gains, width, 0.5 - centreX, 1 / reach, ((row + 0.5 - centreY) / reach) ** 2, scratch)
    const skip = 4 * width * row
    for (const [p, plane] of step.planes.entries()) {
      const variance = step.variances[p]
      kernels.shadeRow(plane + skip, variance === undefined ? 0 : variance + skip, gains, width)
    }
  }
}
