import type { Address, TaskContext } from '#core/kernels'
import { type GainPass, mapPosition } from './gain-field.ts'

/** Rows that one item of work takes. */
export const STRIP_ROWS = 64

export const strips = (height: number) => Math.ceil(height / STRIP_ROWS)

/** The rows of a strip. */
export const stripRows = (item: number, height: number) => ({
  from: item * STRIP_ROWS,
  to: Math.min((item + 1) * STRIP_ROWS, height),
})

/** One step over a picture: f32 values with or without a variance plane, or stored u16 codes. */
export interface GainStep {
  readonly samples: 'linear' | 'stored'
  readonly values: Address
  /** 0 for none. */
  readonly variance: Address
  readonly width: number
  readonly height: number
  /** Samples from one row's start to the next's. */
  readonly stride: number
  readonly passes: readonly GainPass[]
}

/** Task: multiplies the rows of one strip by the product of the gain maps that reach them. */
export function gainRows({ kernels, memory, scratch }: TaskContext, step: GainStep, item: number): void {
  const { width, height, stride } = step
  const nodesAt = scratch + 4 * (width + 16)
  const { from, to } = stripRows(item, height)
  for (let row = from; row < to; row++) {
    const reaching = step.passes.filter((p) => row >= p.top && row < p.bottom && (row - p.top) % p.rowPitch === 0)
    if (reaching.length === 0) continue
    memory.f32(scratch, width).fill(1)
    for (const pass of reaching) {
      blendNodes(
        memory.f32(pass.nodes, pass.pointsV * pass.nodesPerRow),
        pass,
        row,
        height,
        memory.f32(nodesAt, pass.nodesPerRow),
      )
      kernels.gainLine(scratch, pass.left, pass.columnPitch, pass.columns, nodesAt, pass.columnTable)
    }
    if (step.samples === 'stored') kernels.shadeCodes(step.values + 2 * stride * row, scratch, width)
    else
      kernels.shadeRow(
        step.values + 4 * stride * row,
        step.variance && step.variance + 4 * stride * row,
        scratch,
        width,
      )
  }
}

function blendNodes(nodes: Float32Array, pass: GainPass, row: number, height: number, to: Float32Array): void {
  const { pointsV, nodesPerRow } = pass
  const { index, fraction } = mapPosition(row, height, {
    points: pointsV,
    spacing: pass.spacingV,
    origin: pass.originV,
  })
  const above = index * nodesPerRow
  const below = Math.min(index + 1, pointsV - 1) * nodesPerRow
  for (let h = 0; h < nodesPerRow; h++) to[h] = nodes[above + h]! + (nodes[below + h]! - nodes[above + h]!) * fraction
}
