import type { LeftOut } from '#core/base'
import { type Address, type Crew, WARP_TABLE_BYTES, writeWarpTable } from '#core/kernels'
import type { Opcode, WarpRectilinear } from '#picture/raw'
import { layGainMap } from './gain-field.ts'
import { type GainStep, strips } from './gain-rows.ts'
import { notApplied } from './left-out.ts'
import type { VignetteStep } from './vignette.ts'
import { bendsNothing, type WarpStep } from './warp.ts'

/** A demosaiced picture of the active area: f32 planes, width × height each, without padding. */
export interface LensPicture {
  /** Red, green, blue. */
  readonly planes: readonly Address[]
  /** Variances of the planes, in their order; empty for none. */
  readonly variances: readonly Address[]
  /** One more plane of the same size to bend into. */
  readonly spare: Address
  readonly width: number
  readonly height: number
  readonly opcodes: readonly Opcode[]
}

/** The same memory in new roles: bending swaps each plane with the spare one. */
export interface LensCorrected {
  readonly planes: readonly Address[]
  readonly variances: readonly Address[]
  readonly spare: Address
  readonly leftOut: readonly LeftOut[]
}

/**
 * Opcode list 3 on demosaiced planes, in list order: radial vignette, gain maps, rectilinear warp (one set of terms for
 * all planes or one per plane, which corrects lateral colour). Variances take gains squared and are bent alike; bending
 * makes noise about 12 % weaker and neighbours alike, which they do not show. Other opcodes are returned as not applied.
 */
export async function correctLens(crew: Crew, picture: LensPicture): Promise<LensCorrected> {
  const planes = [...picture.planes]
  const variances = [...picture.variances]
  const leftOut: LeftOut[] = []
  let spare = picture.spare
  const { width, height } = picture
  const mark = crew.arena.mark()
  try {
    const table = crew.arena.alloc(WARP_TABLE_BYTES)
    writeWarpTable(crew.arena, table)
    for (const opcode of picture.opcodes.filter((o) => o.list === 3)) {
      const { content } = opcode
      if (content.kind === 'vignette-radial') {
        const step: VignetteStep = { planes, variances, width, height, vignette: content }
        await crew.run('shading.vignette', step, strips(height))
      } else if (content.kind === 'warp-rectilinear') {
        for (const group of [planes, variances]) spare = await bend(crew, group, spare, content, width, height, table)
      } else if (content.kind === 'gain-map') {
        const inner = crew.arena.mark()
        const { plane, planes: count } = content.area
        const reached = planes.map((_, p) => p).filter((p) => p >= plane && p < plane + count)
        if (reached.length === 0) leftOut.push(notApplied(opcode, 'plane-not-present'))
        for (const p of reached) {
          const pass = layGainMap(crew.arena, content, p, width, height)
          if (!pass) {
            leftOut.push(notApplied(opcode, 'area-outside-picture'))
            break
          }
          const step: GainStep = {
            ...{ samples: 'linear', values: planes[p]!, variance: variances[p] ?? 0 },
            ...{ width, height, stride: width, passes: [pass] },
          }
          await crew.run('shading.gains', step, strips(height))
        }
        crew.arena.release(inner)
      } else leftOut.push(notApplied(opcode, 'opcode-not-applied'))
    }
  } finally {
    crew.arena.release(mark)
  }
  return { planes, variances, spare, leftOut }
}

/** Bends each plane of `group` into the spare one, whose place the plane's old memory takes; the spare that is left. */
async function bend(
  crew: Crew,
  group: Address[],
  spare: Address,
  warp: WarpRectilinear,
  width: number,
  height: number,
  table: Address,
): Promise<Address> {
  let free = spare
  for (const [p, from] of group.entries()) {
    const terms = warp.planes[Math.min(p, warp.planes.length - 1)]!
    if (bendsNothing(terms)) continue
    const { centreX, centreY } = warp
    const step: WarpStep = { from, to: free, width, height, terms, centreX, centreY, table }
    await crew.run('shading.warp', step, strips(height))
    group[p] = free
    free = from
  }
  return free
}
