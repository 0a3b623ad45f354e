import type { Address, Memory } from '#core/kernels'
import { type CfaPattern, cfaAt } from '#core/pixels'

/**
 * What is measured: one plane of u16 samples in the shared memory, linear in light. A mosaic is read at its green sites
 * alone (half of all, no interpolation, one lamp colour); a plane of luma at every sample.
 */
export interface MeasureView {
  readonly at: Address
  readonly width: number
  readonly height: number
  /** Pattern of the first sample; null for a plane. */
  readonly cfa: CfaPattern | null
  /** Black of the four phases (even row even column, even odd, odd even, odd odd). */
  readonly black: readonly [number, number, number, number]
  /** The stored value of saturation. */
  readonly white: number
}

/** The samples that carry the measured light. */
export interface Light {
  readonly samples: Uint16Array
  readonly width: number
  readonly height: number
  /** Samples of a row that are read: every `step`-th from `first(y)` on. */
  readonly step: 1 | 2
  readonly first: (y: number) => 0 | 1
  /** Black of even and odd rows. */
  readonly black: readonly [number, number]
  /** From this stored value on a sample counts as saturated: 3 % of the range below white, where sensors bend. */
  readonly ceiling: number
  /** White over black. */
  readonly range: number
}

export function lightOf(memory: Memory, v: MeasureView): Light {
  const parity = v.cfa === null ? null : cfaAt(v.cfa, 0, 0) === 1 ? 0 : 1
  const [b00, b01, b10, b11] = v.black
  const black = parity === null || parity === 0 ? ([b00, b11] as const) : ([b01, b10] as const)
  const range = v.white - Math.max(...black)
  return {
    samples: memory.u16(v.at, v.width * v.height),
    width: v.width,
    height: v.height,
    step: parity === null ? 1 : 2,
    first: parity === null ? () => 0 : (y) => ((y & 1) === parity ? 0 : 1),
    black: parity === null ? [b00, b10] : black,
    ceiling: v.white - 0.03 * range,
    range,
  }
}

/** Parts of the field a side. */
const THIRDS = 3
interface Spot {
  readonly x: number
  readonly y: number
}

/** Which ninth of the field a place is in, 0 to 8, row by row. */
export const ninthOf = ({ width, height }: Light, { x, y }: Spot): number =>
  THIRDS * Math.min(THIRDS - 1, Math.max(0, Math.floor((THIRDS * y) / height))) +
  Math.min(THIRDS - 1, Math.max(0, Math.floor((THIRDS * x) / width)))

/** What stands in each ninth of the field. */
export function byNinth<T extends Spot>(light: Light, all: readonly T[]): T[][] {
  const parts: T[][] = Array.from({ length: THIRDS * THIRDS }, () => [])
  for (const each of all) parts[ninthOf(light, each)]!.push(each)
  return parts
}
