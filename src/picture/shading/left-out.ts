import type { LeftOut } from '#core/base'
import type { Opcode } from '#picture/raw'

/** Why an opcode was not applied. */
export type ShadingReason = 'opcode-not-applied' | 'plane-not-present' | 'area-outside-picture'

export const notApplied = ({ list, id, name, optional }: Opcode, reason: ShadingReason): LeftOut => ({
  what: `opcode ${name}`,
  reason,
  facts: { list, id, name, optional },
})
